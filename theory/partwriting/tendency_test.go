package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// The tritone of a chord on the leading tone closes or opens (Collaros; Wieland);
// the cases are our own, a quarter to a sonority.
func TestTritones(t *testing.T) {
	for _, test := range []struct{ music, want, why string }{
		{"C: viio6 D3 F3 D4 B4 | I C3 E3 C4 C5", "", "it closes: F to E, B to C"},
		{"C: viio6 D3 F3 D4 B4 | I C3 G3 E4 C5", "ST 1", "the augmented fourth F to B goes to a fourth"},
		{"C: viio6 D3 B3 D4 F4 | I C3 C4 E4 G4", "ST 1", "the diminished fifth B to F goes to a fifth"},
		{"C: viio6 D3 B3 D4 F4 | I6 E3 C4 C4 G4", "", "F rises in tenths with the bass"},
		{"C: viio6 D3 F3 B3 F4 | I C3 E3 C4 G4", "", "the tenor takes F down"},
		{"C: viio6 D3 F3 D4 B4 | V7 G2 F3 D4 B4 | I C3 E3 C4 C5", "", "it waits"},
		{"C: viio6 D3 F3 D4 B4 | vi A2 A3 C4 C5", "", "it goes elsewhere"},
		{"C: V7 G2 F3 D4 B4 | I C3 G3 E4 C5", "", "the seventh is told by itself"},
	} {
		texture := theorytest.Chords(test.music)
		var got []string
		for _, f := range partwriting.Check(texture, labeled(t, test.music, texture), nil) {
			if f.Rule == "tritone-unresolved" {
				got = append(got, fmt.Sprintf("%s %v", voicesOf(texture, &f), f.Onset))
				if f.Severity != partwriting.Remark {
					t.Errorf("%s: a %s, want a remark", test.music, f.Severity)
				}
			}
		}
		if strings.Join(got, ", ") != test.want {
			t.Errorf("%s: %v, want %s, because %s", test.music, got, test.want, test.why)
		}
	}
}

// A note that began before anybody named a chord has no chord where it was
// struck; the rules still judge where it goes.
func TestLeadingToneStruckBeforeTheFirstLabel(t *testing.T) {
	texture := theorytest.Chords("B2 G3 D4 G4 | . G3 D4 F4 | E2 G3 C4 E4")
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	labels := []harmony.Label{
		{Onset: theory.Whole(1), Reading: harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh, Inversion: 1}}},
		{Onset: theory.Whole(2), Reading: harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: 1}}},
	}
	for _, f := range partwriting.Check(texture, harmony.Assume(texture, labels), nil) {
		if f.Rule == "leading-tone-unresolved" && f.Severity == partwriting.Fault {
			return
		}
	}
	t.Error("the bass leaves the leading tone by leap, and no rule says so")
}
