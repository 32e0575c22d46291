package voicing

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory/partwriting"
)

// mixtures are progressions with borrowed chords, each beside the same chords counted in
// a key of which they are the scale's, or nearer to it. The chords are those that textbooks
// list as mixture (Hutchinson, Music Theory for the 21st-Century Classroom, ch. 20; Open
// Music Theory v1, "Modal mixture"); the rows are ours, of popular and of chorale kind.
var mixtures = [][2]string{
	{"C: I bVII IV I", "F: V IV I V"},
	{"C: IV I bVII IV", "F: I V IV I"},
	{"C: IV bVII I", "F: I IV V"},
	{"C: I bVII I", "F: V IV V"},
	{"C: I v IV I", "F: V ii I V"},
	{"C: I v ii IV", "F: V ii vi I"},
	{"C: I v bVII IV", "F: V ii IV I"},
	{"C: vi IV bVII I", "F: iii I IV V"},
	{"C: ii bVII IV I", "F: vi IV I V"},
	{"G: I bVII IV I", "C: V IV I V"},
	{"D: I bVII IV I", "G: V IV I V"},
	{"A: I bVII IV6 I", "D: V IV I6 V"},
	{"Bb: I bVII6 IV I", "Eb: V IV6 I V"},
	{"C: I bIII IV I", "Bb: II IV V II"},
	{"C: bIII bVII IV", "Bb: IV I V"},
	{"C: bVI bIII bVII", "Eb: IV I V"},
	{"C: bVI bIII bVII IV", "Bb: bVII IV I V"},
	{"C: bIII bVI iv bIII", "Eb: I IV ii I"},
	{"C: i bVI bIII bVII", "Eb: vi IV I V"},
	{"C: bVI iv bIII bVII", "Eb: IV ii I V"},
	{"C: bVI bIII iv", "Eb: IV I ii"},
	{"C: iv bIII bVI bIII", "Eb: ii I IV I"},
	{"C: bIII iv bVI bIII", "Eb: I ii IV I"},
	{"C: bIII v bVI bVII", "Eb: I iii IV V"},
	{"C: i bVII bVI bVII", "Eb: vi V IV V"},
	{"C: i v bVI bIII", "Eb: vi iii IV I"},
	{"C: i iv bVI bIII", "Eb: vi ii IV I"},
	{"C: i bVII bVI", "Eb: vi V IV"},
	{"C: v bVI iv", "Eb: iii IV ii"},
	{"E: ii bVII IV I", "A: vi IV I V"},
	{"C: bIII bVI bVII bVI", "Eb: I IV V IV"},
	{"F: I bVII IV6 I", "Bb: V IV I6 V"},
	{"E: I bVII IV I", "A: V IV I V"},
	{"F: bVI bIII bVII", "Ab: IV I V"},
	{"G: bVI bIII bVII", "Bb: IV I V"},
	{"D: i bVI bIII bVII", "F: vi IV I V"},
	{"A: bVI iv bIII", "C: IV ii I"},
	{"D: bVII IV I", "G: IV I V"},
	{"Bb: I bVII IV", "Eb: V IV I"},
	{"A: IV bVII IV I", "D: I IV I V"},
	{"d: i v VI III", "F: vi iii IV I"},
	{"G: i bIII bVI bVII", "Bb: vi I IV V"},
}

// TestMixtureCostsWhatItCostsElsewhere counts the same chords in two keys: they have the
// same voicing at the same cost, in each texture and under each rule set. No row has a
// dominant that goes to its tonic or the sixth degree in one of its keys only: there the
// law asks for more. It does so, too, where a third is doubled that is a leading tone in
// one of the keys, as inverted chords and five voices do; so doublings are dear here.
func TestMixtureCostsWhatItCostsElsewhere(t *testing.T) {
	for _, style := range []Style{Keyboard(), Chorale(), ThreeVoices()} {
		style.Weights.Doubling *= 4
		for _, rules := range []string{"", "strict-chorale", "keyboard", "free"} {
			if rules != "" {
				if style.Rules = partwriting.RuleSetByName(rules); style.Rules == nil {
					t.Fatalf("there is no rule set %s", rules)
				}
			}
			for _, pair := range mixtures {
				costs, notes := [2]Cost{}, [2]string{}
				for i, text := range pair {
					costs[i], notes[i] = voiced(t, text, style)
				}
				if costs[0] == costs[1] && notes[0] == notes[1] {
					continue
				}
				t.Errorf("%s, %q: %s costs %d, %s costs %d:\n  %s\n  %s", style.Name, rules, pair[0], costs[0], pair[1], costs[1], notes[0], notes[1])
			}
		}
	}
}

// voiced is the cost and the notes of the best voicing.
func voiced(t *testing.T, text string, style Style) (Cost, string) {
	t.Helper()
	r, err := ReadProgression(text)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Solve(r.Problem(style))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	var notes strings.Builder
	for _, c := range s.Chords {
		fmt.Fprintln(&notes, c.Pitches)
	}
	return s.Cost, notes.String()
}
