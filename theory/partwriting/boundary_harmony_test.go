package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Where the rules that read the harmony speak and where they stay silent. One
// sonority lasts an eighth, a beat a quarter; the chords are as labeled.
func TestHarmonyBoundaries(t *testing.T) {
	for _, test := range []struct {
		name, music, rule string
		want              []string
		why               string
	}{
		{"lead in a descent", "C: I C3 E4 G4 C5 | V G3 D4 G4 B4 | vi A3 C4 E4 A4", "leading-tone-unresolved", nil, "inside a stepwise descent"},
		{"lead falls", "C: V G3 D4 G4 B4 | vi A3 C4 E4 A4", "leading-tone-unresolved", []string{"S 1"}, "no descent leads into it"},
		{"lead repeated in another chord", "C: V G2 D4 G4 B4 | iii E3 B3 G4 B4", "leading-tone-unresolved", nil, "the harmony does not go to I or vi"},
		{"seventh in two voices", "C: V7 G2 F3 B3 F4 | I C3 E3 C4 G4", "seventh-unresolved", nil, "one of the two voices resolves it"},
		{"seventh alone", "C: V7 G2 D3 B3 F4 | I C3 E3 C4 G4", "seventh-unresolved", []string{"S 1"}, "nobody resolves it"},
		{"seventh held", "C: ii7 D3 A3 C4 F4 | IV F3 A3 . F4 | V G3 B3 D4 G4", "seventh-unresolved", nil, "the next chord holds it as its fifth"},
		{"seventh in the bass rises over its root", "C: V42/V C3 A3 F#4 D5 | ii D3 A3 F4 D5 | V G2 G3 D4 B4", "seventh-unresolved", []string{"B 1"}, "V7/V has gone to another harmony, though the root stays"},
		{"seventh handed on over its root", "C: V7/V D3 A3 C4 F#4 | ii7 D3 A3 C4 F4 | V G2 B3 B3 G4", "seventh-unresolved", nil, "ii7 keeps the seventh, and it falls"},
		{"seventh left inside its chord", "C: V7 G2 D4 F4 B4 | V G2 D4 G4 B4 | vi A2 E4 A4 C5", "seventh-unresolved", nil, "the dominant goes on without it"},
		{"seventh after an ornament", "C: V7 G2 D4 F4 B4 | - G2 D4 G4 B4 | I C3 C4 E4 C5", "seventh-unresolved", nil, "it is left inside the harmony, and its step comes"},
		{"doubled between beats", "C: V G2 B3 D4 G4 | - G2 B3 D4 B4 | I C3 C4 E4 C5", "leading-tone-doubled", nil, "touched between the beats"},
		{"doubled on the beat", "C: V G2 B3 D4 B4 | - G2 B3 D4 G4 | I C3 C4 E4 C5", "leading-tone-doubled", []string{"ST 0"}, "both sound on the beat"},
		{"third suspended", "C: V G3 D4 G4 C5 | . . . . | V7 G3 D4 F4 B4 | . . . .", "third-missing", nil, "it comes with the seventh"},
		{"no third", "C: I C3 G3 C4 G4 | . . . . | V G2 G3 D4 B4", "third-missing", []string{"SATB 0"}, "a bare fifth"},
		{"passing six-four", "C: I C3 E4 G4 C5 | . . . . | V64 D3 D4 G4 B4 | . . . . | I6 E3 C4 G4 C5", "six-four", nil, "the bass steps through"},
	} {
		t.Run(test.name, func(t *testing.T) {
			texture := theorytest.ChordsOf(theory.Frac(1, 2), test.music)
			var got []string
			for _, f := range partwriting.Check(texture, labeled(t, test.music, texture), nil) {
				if strings.HasPrefix(string(f.Rule), test.rule) {
					got = append(got, fmt.Sprintf("%s %v", voicesOf(texture, &f), f.Onset.Mul(theory.Whole(2))))
				}
			}
			if strings.Join(got, ", ") != strings.Join(test.want, ", ") {
				t.Errorf("%s: %v, want %v, because %s", test.music, got, test.want, test.why)
			}
		})
	}
}

func voicesOf(t *theory.Texture, f *partwriting.Finding) string {
	names := ""
	for _, v := range f.Voices {
		names += t.Voices[v].Name
	}
	return names
}
