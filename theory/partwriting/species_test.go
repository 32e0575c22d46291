package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Two voices, the cantus below, one sonority a quarter: a bar of four.
func TestSpecies(t *testing.T) {
	for _, test := range []struct {
		name, set, music string
		unit             theory.Fraction
		want             []string
		why              string
	}{
		{"clean", "species-first", "D4 A4 | F4 A4 | E4 C5 | D4 B4 | E4 C#5 | D4 D5", theory.Whole(4), nil, "consonances, contrary step into the octave"},
		{"dissonance", "species-first", "D4 A4 | F4 G4 | E4 C#5 | D4 D5", theory.Whole(4), []string{"species-dissonance 1"}, "a second between the voices"},
		{"fourth", "species-first", "D4 A4 | F4 Bb4 | E4 C#5 | D4 D5", theory.Whole(4), []string{"species-dissonance 1"}, "a fourth above the lowest voice"},
		{"opening", "species-first", "D4 F4 | E4 G4 | E4 C#5 | D4 D5", theory.Whole(4), []string{"species-opening 0"}, "the first interval is a third"},
		{"close", "species-first", "D4 A4 | F4 A4 | E4 B4 | D4 A4", theory.Whole(4), []string{"parallel-fifths 3", "species-close 3"}, "the end is no octave"},
		{"direct by step", "species-first", "D4 A4 | C4 E4 | D4 A4 | E4 C#5 | D4 D5", theory.Whole(4), []string{"direct-fifths 2"}, "similar motion into a fifth"},
		{"passing", "species-second", "D4 A4 | . G4 | F4 F4 | . A4 | E4 G4 | . C#5 | D4 D5", theory.Whole(2), nil, "the fourth passes between the downbeats"},
		{"leap to dissonance", "species-second", "D4 A4 | . G4 | F4 A4 | . B4 | E4 G4 | . C#5 | D4 D5", theory.Whole(2), []string{"species-dissonance 1", "species-dissonance 3"}, "neighbors belong to the third species"},
		{"suspension", "species-fourth", "D4 r | . A4 | F4 . | . D5 | E4 . | . C#5 | D4 D5", theory.Whole(2), nil, "seven six"},
		{"run", "species-first", "D4 A4 | C4 E4 | D4 F4 | E4 G4 | F4 A4 | E4 C#5 | D4 D5", theory.Whole(4), []string{"imperfect-run 4"}, "four thirds in a row"},
	} {
		t.Run(test.name, func(t *testing.T) {
			texture := theorytest.ChordsOf(test.unit, test.music)
			var got []string
			for _, f := range partwriting.Check(texture, nil, partwriting.RuleSetByName(test.set)) {
				if ownRule := strings.HasPrefix(string(f.Rule), "species") || f.Family == partwriting.Consecutives; ownRule && f.Severity >= partwriting.Caution {
					got = append(got, fmt.Sprintf("%s %v", f.Rule, f.Onset.Div(test.unit)))
				}
			}
			if strings.Join(got, ", ") != strings.Join(test.want, ", ") {
				t.Errorf("%s\n got %v\nwant %v, because %s", test.music, got, test.want, test.why)
			}
		})
	}
}
