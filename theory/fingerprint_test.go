package theory_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// What sounds is the same in open and in closed score, in another spelling, with a
// unison written once, with ties for longer notes and after a bar of rest; in another
// key only the shape is the same; another rhythm, register or voice is another music.
func TestFingerprint(t *testing.T) {
	plain := theorytest.Score("S/1/1: C5 D5 | E5*2", "B/1/1: C4 B3 | C4*2")
	for _, c := range []struct {
		name         string
		score        *theory.Score
		music, shape bool
	}{
		{"the same again", theorytest.Score("S/1/1: C5 D5 | E5*2", "B/1/1: C4 B3 | C4*2"), true, true},
		{"closed score", theorytest.Score("Choir/1/1: C5 D5 | E5*2", "Choir/1/2: C4 B3 | C4*2"), true, true},
		{"chords of one part", theorytest.Score("P/1/1: C5+C4 D5+B3 | E5+C4*2"), true, true},
		{"another spelling", theorytest.Score("S/1/1: C5 D5 | Fb5*2", "B/1/1: C4 B3 | C4*2"), true, true},
		{"a voice that doubles another", theorytest.Score("S/1/1: C5 D5 | E5*2", "T/1/1: C4 B3 | C4*2", "B/1/1: C4 B3 | C4*2"), true, true},
		{"a tie for a half note", theorytest.Score("S/1/1: C5 D5 | E5~ E5", "B/1/1: C4 B3 | C4*2"), true, true},
		{"after a bar of rest", theorytest.Score("S/1/1: r*2 | C5 D5 | E5*2", "B/1/1: r*2 | C4 B3 | C4*2"), true, true},
		{"a fourth higher", theorytest.Score("S/1/1: F5 G5 | A5*2", "B/1/1: F4 E4 | F4*2"), false, true},
		{"an octave lower", theorytest.Score("S/1/1: C4 D4 | E4*2", "B/1/1: C3 B2 | C3*2"), false, true},
		{"another note", theorytest.Score("S/1/1: C5 D5 | Eb5*2", "B/1/1: C4 B3 | C4*2"), false, false},
		{"another rhythm", theorytest.Score("S/1/1: C5*3/2 D5*1/2 | E5*2", "B/1/1: C4 B3 | C4*2"), false, false},
		{"struck again", theorytest.Score("S/1/1: C5 D5 | E5 E5", "B/1/1: C4 B3 | C4*2"), false, false},
		{"a voice less", theorytest.Score("S/1/1: C5 D5 | E5*2"), false, false},
	} {
		a, b := theory.FingerprintOf(plain), theory.FingerprintOf(c.score)
		if len(b.Music) != 32 || len(b.Shape) != 32 {
			t.Errorf("%s: %+v", c.name, b)
		}
		if (a.Music == b.Music) != c.music || (a.Shape == b.Shape) != c.shape {
			t.Errorf("%s: music the same: %v, shape the same: %v; want %v, %v", c.name, a.Music == b.Music, a.Shape == b.Shape, c.music, c.shape)
		}
	}
	if f := theory.FingerprintOf(theorytest.Score("S/1/1: r*4")); f != (theory.Fingerprint{}) {
		t.Errorf("of rests %+v", f)
	}
}

func BenchmarkFingerprint(b *testing.B) {
	measures := "S/1/1: C5"
	for range 300 {
		measures += " D5 E5 F5 G5 |"
	}
	score := theorytest.Score(measures[:len(measures)-1])
	b.ReportAllocs()
	for b.Loop() {
		theory.FingerprintOf(score)
	}
}
