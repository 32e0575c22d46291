package partwriting_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// A repeated measure joins its end to its beginning: D–A back to C–G are
// parallel fifths that only the performance has (common practice, no source for
// the example; the interval rule is Butterfield's, unit 10b).
func TestParallelsOverARepeat(t *testing.T) {
	cases := []struct {
		music string
		want  int
		why   string
	}{
		{"C3 G3 E4 C5 | F3 F3 A4 C5 | G2 D4 B4 D5 | D3 A3 F4 D5", 1, "bass and tenor go back from D–A to C–G"},
		{"C3 G3 E4 C5 | F3 F3 A4 C5 | G2 D4 B4 D5 | D3 F3 A4 D5", 0, "the fifth is in another voice"},
	}
	for _, c := range cases {
		texture := theorytest.Chords(c.music)
		texture.Score.Jumps = []theory.Jump{{From: 0, To: 0}}
		n := 0
		for _, f := range partwriting.Check(texture, nil, nil) {
			if f.Rule != "consecutives-at-repeat" {
				continue
			}
			if len(f.Voices) == 2 && f.Voices[0] == 2 && f.Voices[1] == 3 && f.Onset == theory.Whole(3) {
				n++
			}
		}
		if n != c.want {
			t.Errorf("%s: found %d, want %d", c.why, n, c.want)
		}
	}
}

// Parallels that a passing note makes (Hutchinson, fig. 28.2.2) weigh as the set
// has it: a fault in strict style, a caution at the keyboard, nothing in free style.
func TestEmbellishedParallels(t *testing.T) {
	music := "C: I C3 G3 C4 E4 | - C3 (A3) C4 E4 | V G2 G3 B3 D4"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	for name, want := range map[string]string{"strict-chorale": "ST 2 fault", "keyboard": "ST 2 caution", "free": ""} {
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName(name), "parallel-fifths"); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}
