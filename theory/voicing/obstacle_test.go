package voicing

import (
	"slices"
	"strings"
	"testing"

	"partwright/theory/partwriting"
)

// Where a progression cannot be voiced without a fault there is a least bad voicing all
// the same, and the obstacle names the rule and what opens the way.
func TestObstaclesNameTheRuleAndTheWayOut(t *testing.T) {
	for _, tt := range []struct {
		text, rule, opens, german string
		why                       string
	}{
		{"C: I{C5,G4,E4,C3} V{D5,-,-,D3} I", "", "", "", "the given bass is the fifth of a dominant in root position"},
		{"C: V7{F5} I{G5}", "seventh-unresolved", "soprano is not given", "nicht g'' vorgegeben", "a given seventh that rises"},
		{"C: V42 vi", "seventh-unresolved", "", "", "a seventh in the bass that cannot fall into the next root"},
		{"C: V6{B4} I", "leading-tone-doubled", "soprano is not given B4", "Sopran in Akkord 1 nicht h' vorgegeben", "a given note that doubles the leading tone"},
	} {
		p, err := ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		problem := p.Problem(Chorale())
		s, err := NewSearch(t.Context(), problem)
		if tt.rule == "" {
			if err == nil {
				t.Errorf("%s: %s was voiced", tt.text, tt.why)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		breaks, opens := s.Obstacle(t.Context(), nil)
		if best, broken := s.LeastBad(); broken == 0 || len(best.Chords) != len(problem.Slots) || best.Cost >= penalty {
			t.Errorf("%s: the least bad %v breaks %d rules at a cost of %d", tt.text, best.Chords, broken, best.Cost)
		}
		if !slices.ContainsFunc(breaks, func(b Broken) bool { return string(b.Rule) == tt.rule }) {
			t.Errorf("%s (%s): breaks %v; want %q", tt.text, tt.why, breaks, tt.rule)
		}
		for _, language := range []struct{ tag, want string }{{"en", tt.opens}, {"de", tt.german}} {
			catalog, _ := partwriting.CatalogFor(language.tag)
			says := ""
			if opens != nil {
				says = catalog.Phrase(opens.Phrase, opens.Pairs...)
			}
			if !strings.Contains(says, language.want) || strings.Contains(says, "{") {
				t.Errorf("%s (%s): %q opens it, want %q", tt.text, tt.why, says, language.want)
			}
		}
	}
}

// Three voices leave out what there is no voice for: every inversion of a seventh chord
// can be sung.
func TestThreeVoicesLeaveOut(t *testing.T) {
	for _, text := range []string{"C: I V43 I6", "C: I V7 I", "C: I V65 I", "C: I6 V42 I6", "C: I ii65 V I", "a: i viio43 i6", "C: I IV V43 I"} {
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Solve(p.Problem(ThreeVoices()))
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		for _, c := range s.Chords {
			third, seventh := false, c.Reading.Size() < 4
			for _, pitch := range c.Pitches {
				third = third || c.Reading.MemberOf(pitch.Class()) == 1
				seventh = seventh || c.Reading.MemberOf(pitch.Class()) == 3
			}
			if !third || !seventh {
				t.Errorf("%s: %v is %v, want its third and seventh", text, c.Reading, c.Pitches)
			}
		}
	}
}
