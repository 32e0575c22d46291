package harmony

import (
	"testing"

	"partwright/theory"
)

// The last two chords of a phrase in C, the degree on top, and the cadence they
// make: Hutchinson, Music Theory for the 21st-Century Classroom, ch. 10, and
// Butterfield, Integrated Music Theory, unit 8.
func TestCadenceKinds(t *testing.T) {
	for _, test := range []struct {
		from, to string
		mode     theory.Mode
		soprano  int
		want     CadenceKind
		phrygian bool
	}{
		{"V", "I", theory.MajorMode, 1, PerfectAuthentic, false},
		{"V7", "i", theory.MinorMode, 1, PerfectAuthentic, false},
		{"V7", "I", theory.MinorMode, 1, PerfectAuthentic, false}, // a Picardy third
		{"V", "I", theory.MajorMode, 3, ImperfectAuthentic, false},
		{"V", "I", theory.MajorMode, 0, ImperfectAuthentic, false},
		{"V6", "I", theory.MajorMode, 1, ImperfectAuthentic, false},
		{"V7", "I6", theory.MajorMode, 1, ImperfectAuthentic, false},
		{"viio6", "I", theory.MajorMode, 1, ImperfectAuthentic, false},
		{"viio7", "i", theory.MinorMode, 1, ImperfectAuthentic, false},
		{"V7", "I64", theory.MajorMode, 1, NoCadence, false},
		{"V7/V", "I", theory.MajorMode, 1, NoCadence, false}, // it leads elsewhere
		{"v", "i", theory.MinorMode, 1, NoCadence, false},
		{"IV", "I", theory.MajorMode, 1, Plagal, false},
		{"iv6", "i", theory.MinorMode, 1, Plagal, false},
		{"IV", "I6", theory.MajorMode, 1, NoCadence, false},
		{"Ger65", "i", theory.MinorMode, 1, NoCadence, false},
		{"V", "vi", theory.MajorMode, 1, Deceptive, false},
		{"V7", "VI", theory.MinorMode, 3, Deceptive, false},
		{"V7", "IV6", theory.MajorMode, 1, Deceptive, false},
		{"V6", "vi", theory.MajorMode, 1, NoCadence, false},
		{"V7", "vi6", theory.MajorMode, 1, NoCadence, false},
		{"I", "V", theory.MajorMode, 2, Half, false},
		{"ii6", "V", theory.MajorMode, 2, Half, false},
		{"V7/V", "V", theory.MajorMode, 2, Half, false},
		{"I", "V/vi", theory.MajorMode, 7, Half, false},
		{"iv6", "V", theory.MinorMode, 5, Half, true},
		{"iv6", "V6", theory.MinorMode, 5, Half, false},
		{"iv", "V", theory.MinorMode, 5, Half, false},
		{"IV6", "V", theory.MajorMode, 5, Half, false}, // no half step in the bass
		{"I", "ii", theory.MajorMode, 2, NoCadence, false},
		{"", "V", theory.MajorMode, 2, Half, false},
		{"", "I", theory.MajorMode, 1, NoCadence, false},
	} {
		key := theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: test.mode}
		read := func(text string) Harmony {
			numeral, err := ParseNumeral(text, key.Mode)
			if err != nil {
				t.Fatal(err)
			}
			return Harmony{Reading: Reading{key, numeral}}
		}
		a := &Analysis{}
		c := Cadence{Penultimate: -1, Soprano: test.soprano}
		if test.from != "" {
			a.Harmonies = append(a.Harmonies, read(test.from))
			c.Penultimate, c.Final = 0, 1
		}
		a.Harmonies = append(a.Harmonies, read(test.to))
		e := a.closingOf(&c)
		if got := e.kind(); got != test.want || (got == Half && e.isPhrygian()) != test.phrygian {
			t.Errorf("%s-%s in %v with %d on top: %q, want %q", test.from, test.to, key, test.soprano, got, test.want)
		}
	}
}
