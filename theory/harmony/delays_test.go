package harmony

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// The suspensions of Open Music Theory v1 ("Fourth-species counterpoint": 9-8, 7-6,
// 4-3 above the bass), each in a few chords of our own: the sonorities are an
// eighth each, and the chord under the suspension is the third.
func TestDelays(t *testing.T) {
	half := theory.Frac(1, 2)
	for _, c := range []struct{ music, want, why string }{
		{"C3 G3 E4 C5 | . . . . | G3 . D4 . | . . . B4 | C3 G3 E4 C5 | . . . .", "[4 3] -> [3]", "4-3 over the dominant"},
		{"C3 G3 E4 C5 | . . . . | D3 F3 . . | . . . B4 | C3 G3 E4 C5 | . . . .", "[7 6] -> [6]", "7-6 over a first inversion"},
		{"G3 D4 G4 B4 | . . . . | A3 C4 E4 . | . . . A4 | D3 A3 F4 A4 | . . . .", "[9 8] -> [8]", "9-8 over a root"},
		{"C3 G3 E4 C5 | . . . . | G3 . D4 B4 | . . . . | C3 G3 E4 C5 | . . . .", "none", "no suspension"},
	} {
		a := Analyze(theorytest.ChordsOf(half, c.music))
		delays := a.Delays()
		got := "none"
		if len(delays) > 0 {
			d := delays[0]
			h := a.Harmonies[d.Harmony]
			chord := Chord{h.Root(), h.Quality(), h.Inversion()}
			before, _ := chord.DelayedFigures(theory.KeySignature{}, delays, nil)
			after, _ := chord.DelayedFigures(theory.KeySignature{}, nil, delays)
			got = fmt.Sprintf("[%d %d] -> [%s]", d.Number, d.Resolved, figureText(after))
			if want := fmt.Sprint(d.Number); figureText(before) != want {
				t.Errorf("%s: the figures are %q before the resolution, want %s", c.why, figureText(before), want)
			}
			if d.From != theory.Whole(1) || d.Until != theory.Frac(3, 2) {
				t.Errorf("%s: from %v until %v, want from 1 until 3/2", c.why, d.From, d.Until)
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.why, got, c.want)
		}
	}
}

// The leading tone that a suspension resolves to keeps its accidental, and so does a
// foreign note that the signature does not have.
func TestDelayedFiguresAltered(t *testing.T) {
	e := Chord{Root: pc("E")}
	delay := []Delay{{Class: pc("A"), Number: 4, Resolved: 3}}
	if f, _ := e.DelayedFigures(theory.KeySignature{}, delay, nil); figureText(f) != "4" {
		t.Errorf("before: %q, want 4", figureText(f))
	}
	if f, _ := e.DelayedFigures(theory.KeySignature{}, nil, delay); figureText(f) != "#" {
		t.Errorf("after: %q, want #", figureText(f))
	}
	seventh := Chord{Root: pc("G"), Quality: DominantSeventh}
	delay = []Delay{{Class: pc("C#"), Number: 4, Resolved: 3}}
	if f, _ := seventh.DelayedFigures(theory.KeySignature{}, delay, nil); figureText(f) != "7 #4" {
		t.Errorf("with a seventh: %q, want 7 #4", figureText(f))
	}
	if f, _ := seventh.DelayedFigures(theory.KeySignature{}, nil, delay); figureText(f) != "7 3" {
		t.Errorf("after it: %q, want 7 3", figureText(f))
	}
}
