package harmony

import (
	"fmt"
	"testing"

	"partwright/theory"
)

func key(s string) theory.Key {
	k, err := theory.ParseKey(s)
	if err != nil {
		panic(err)
	}
	return k
}

func class(s string) theory.PitchClass {
	c, err := theory.ParsePitchClass(s)
	if err != nil {
		panic(err)
	}
	return c
}

// figure reads "6", "#6", "b7", "#", "5-" (slashed), from the top down.
func figures(texts ...string) []theory.Figure {
	var out []theory.Figure
	for _, s := range texts {
		f := theory.Figure{}
		for _, r := range s {
			switch r {
			case '#':
				f.Prefix = "sharp"
			case 'b':
				f.Prefix = "flat"
			case 'n':
				f.Prefix = "natural"
			case '-':
				f.Suffix = "slash"
			default:
				f.Number = f.Number*10 + int(r-'0')
			}
		}
		out = append(out, f)
	}
	return out
}

// The full figures behind the usual ones are those of the table of thoroughbass
// figures in Open Music Theory v1; the realizations of G minor follow its basso
// continuo figure (given line and figures, model chords).
func TestRealize(t *testing.T) {
	cases := []struct {
		bass    string
		figures []theory.Figure
		key     string
		want    string
		why     string
	}{
		{"C", nil, "C", "[C E G]", "5/3 is understood"},
		{"E", figures("6"), "C", "[E G C]", "6 stands for 6/3"},
		{"G", figures("6", "4"), "C", "[G C E]", "6/4 in full"},
		{"G", figures("7"), "C", "[G B D F]", "7 stands for 7/5/3"},
		{"B", figures("6", "5"), "C", "[B D F G]", "6/5 stands for 6/5/3"},
		{"C", figures("13"), "C", "[C E A]", "13 is a six in the next octave, as early prints write it (common practice, no source)"},
		{"G", figures("11", "10"), "C", "[G B C E]", "so are 11 and 10 a four and a three"},
		{"D", figures("4", "3"), "C", "[D F G B]", "4/3 stands for 6/4/3"},
		{"F", figures("4", "2"), "C", "[F G B D]", "4/2 stands for 6/4/2"},
		{"F", figures("2"), "C", "[F G B D]", "2 stands for 6/4/2"},
		{"G", figures("4"), "C", "[G C D]", "4 suspends the third above the fifth"},
		{"D", figures("#"), "g", "[D F# A]", "an accidental alone alters the third"},
		{"A", figures("#6"), "g", "[A C F#]", "a raised sixth"},
		{"D", figures("7", "#"), "g", "[D F# A C]", "seventh with raised third"},
		{"C#", figures("#6", "4", "3"), "b", "[C# E F# A#]", "an accidental beside a number"},
		{"Ab", figures("6-"), "c", "[Ab C F#]", "a slash raises by a semitone: the Italian sixth"},
	}
	for _, c := range cases {
		got, err := realize(class(c.bass), c.figures, theory.KeySignature{Fifths: int8(key(c.key).Signature())})
		if err != nil {
			t.Errorf("%s: %v", c.why, err)
			continue
		}
		if fmt.Sprint(got) != c.want {
			t.Errorf("%s: %v, want %s", c.why, got, c.want)
		}
	}
}

func TestReadFigures(t *testing.T) {
	cases := []struct {
		bass, key, want, why string
		figures              []theory.Figure
	}{
		{"A", "g", "g: viio6", "the sixth above ^2 in minor", figures("#6")},
		{"F", "g", "g: v6", "the sixth above the lowered seventh degree", figures("6")},
		{"C#", "b", "b: V43", "Open Music Theory v1, keyboard exercise in B minor", figures("#6", "4", "3")},
		{"A", "C", "C: V43/V", "a foreign dominant is applied", figures("#6", "4", "3")},
		{"Ab", "c", "c: It6", "augmented sixth over the lowered sixth degree", figures("6-")},
		{"C", "Ab", "Ab: V7/vi", "Hutchinson ch. 29, raised third and seventh over C", figures("7", "n")},
	}
	for _, c := range cases {
		r, ok, err := ReadFigures(class(c.bass), c.figures, key(c.key))
		if err != nil || !ok || r.String() != c.want {
			t.Errorf("%s: %v %v %v, want %s", c.why, r, ok, err, c.want)
		}
	}
	if _, ok, err := ReadFigures(class("G"), figures("4"), key("C")); ok || err != nil {
		t.Errorf("a suspension was read as a chord (%v)", err)
	}
	if _, _, err := ReadFigures(class("G"), []theory.Figure{{Number: 19}}, key("C")); err == nil {
		t.Error("19 was taken for a figure")
	}
}

func TestParseSymbol(t *testing.T) {
	for _, q := range []string{"C", "Am", "Bdim", "C+", "G7", "Fmaj7", "Dm7", "F#m7b5", "C#dim7", "Am(maj7)", "Bbmaj7/D", "G7/F"} {
		c, err := ParseSymbol(q)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := ReadIn(key("C"), c).Symbol(); got != q {
			t.Errorf("%s comes back as %s", q, got)
		}
	}
	for _, bad := range []string{"", "H", "C13#11", "B/C", "Cfoo", "C/", "7", "C5", "Cadd64", "N9", "Cad64"} {
		if c, err := ParseSymbol(bad); err == nil {
			t.Errorf("%q was read as %v", bad, c)
		}
	}
}

func FuzzParseSymbol(f *testing.F) {
	f.Add("F#m7b5/A")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseSymbol(s)
		if err != nil {
			return
		}
		again, err := ParseSymbol(ReadIn(theory.MajorKey(c.Root), c).Symbol())
		if err != nil || again != c {
			t.Errorf("%q: %+v, then %+v (%v)", s, c, again, err)
		}
	})
}
