package voicing

import (
	"strings"
	"testing"
)

// Where a progression cannot be voiced without a fault there is a least bad voicing all
// the same, and the obstacle names the rule and what opens the way.
func TestObstaclesNameTheRuleAndTheWayOut(t *testing.T) {
	for _, tt := range []struct {
		text, rule, opens string
		why               string
	}{
		{"C: I{C5,G4,E4,C3} V{D5,-,-,D3} I", "", "", "the given bass is the fifth of a dominant in root position"},
		{"C: V7{F5} I{G5}", "seventh-unresolved", "S is not given", "a given seventh that rises"},
		{"C: V42 vi", "seventh-unresolved", "", "a seventh in the bass that cannot fall into the next root"},
		{"C: V6{B4} I", "leading-tone-doubled", "S is not given B4", "a given note that doubles the leading tone"},
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
		if !strings.Contains(strings.Join(breaks, " "), tt.rule) || !strings.Contains(opens, tt.opens) {
			t.Errorf("%s (%s): breaks %q, %q; want %q and %q", tt.text, tt.why, breaks, opens, tt.rule, tt.opens)
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
