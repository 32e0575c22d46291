package voicing

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

func reading(n harmony.Numeral) harmony.Reading { return harmony.Reading{Key: cMajor, Numeral: n} }

func chord(n harmony.Numeral, pitches ...string) Chord {
	c := Chord{Reading: reading(n)}
	for _, p := range pitches {
		c.Pitches = append(c.Pitches, theory.MustPitch(p))
	}
	return c
}

// Hutchinson, Music Theory for the 21st-Century Classroom, fig. 26.7.2 (roots a
// fifth apart: keep the common tone, move the others by step) and fig. 26.7.3
// (roots a second apart: all upper voices against the bass).
func TestFirstChoicesOfTheTextbook(t *testing.T) {
	cases := []struct {
		from Chord
		to   harmony.Numeral
		way  Way
		want string
		why  string
	}{
		{chord(one, "E5", "G4", "C4", "C3"), five, KeepCommon, "[D5 G4 B3 G3]", "G is kept, E and C step down"},
		{chord(one, "C5", "G4", "E4", "C3"), two, AgainstBass, "[A4 F4 D4 D3]", "nothing is common: against the rising bass"},
	}
	for _, c := range cases {
		var best *Option
		for _, o := range Options(c.from, reading(c.to), Chorale(), 1) {
			if o.Way == c.way && fmt.Sprint(o.Pitches) == c.want {
				best = &o
			}
		}
		if best == nil {
			t.Errorf("%s: %s is not the first of its group", c.why, c.want)
			for _, o := range Options(c.from, reading(c.to), Chorale(), 3) {
				t.Logf("  %v %d %v", o.Way, o.Cost, o.Pitches)
			}
		}
	}
}

func TestOptionsTellWhatTheyOpen(t *testing.T) {
	all := Options(chord(four, "F4", "C4", "A3", "F3"), reading(five), Chorale(), 0, reading(one), reading(six))
	if len(all) == 0 {
		t.Fatal("no option")
	}
	for _, o := range all {
		if len(o.Onward) != 2 {
			t.Fatalf("%v: %d onward counts, want 2", o.Pitches, len(o.Onward))
		}
		for i, next := range []harmony.Numeral{one, six} {
			count := len(Options(Chord{Reading: reading(five), Pitches: o.Pitches}, reading(next), Chorale(), 0))
			if count != o.Onward[i] {
				t.Errorf("%v: %d ways on to %v, counted one by one %d", o.Pitches, o.Onward[i], next, count)
			}
		}
	}
}
