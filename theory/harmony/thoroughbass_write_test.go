package harmony

import (
	"slices"
	"testing"

	"partwright/theory"
)

// Figures as Open Music Theory v1 ("Thoroughbass figures") and Hutchinson, Music
// Theory for the 21st-Century Classroom (ch. 9 and 13) print them.
func TestFiguresOfChords(t *testing.T) {
	for _, c := range []struct{ key, numeral, want, why string }{
		{"C", "I", "", "root position needs none"},
		{"C", "I6", "6", "first inversion"},
		{"C", "I64", "6 4", "second inversion"},
		{"C", "V7", "7", "a seventh in root position"},
		{"C", "V65", "6 5", "first inversion"},
		{"C", "V43", "4 3", "second inversion"},
		{"C", "V42", "4 2", "third inversion"},
		{"a", "V", "#", "a raised leading tone over its root is an accidental alone"},
		{"a", "V6", "6", "in the bass it needs no figure"},
		{"a", "V7", "7 #", "beside the seventh"},
		{"a", "V43", "#6 4 3", "as a sixth"},
		{"a", "V42", "#4 2", "as a fourth"},
		{"c", "V", "n", "in flat keys a natural raises it"},
		{"c", "N6", "b6", "the Neapolitan's root is lowered"},
		{"c", "Ger65", "#6 5", "the augmented sixth of the German chord"},
		{"c", "Fr43", "#6 4 3", "of the French one"},
		{"c", "It6", "#6", "of the Italian one"},
		{"C", "V/V", "#", "an applied leading tone"},
	} {
		k := key(c.key)
		n, err := ParseNumeral(c.numeral, k.Mode)
		if err != nil {
			t.Fatal(err)
		}
		chord := Chord{n.Root(k), n.Quality, int(n.Inversion)}
		figures, ok := chord.Figures(theory.KeySignature{Fifths: int8(k.Signature())})
		if got := figureText(figures); !ok || got != c.want {
			t.Errorf("%s: %s has the figures %q, want %q: %s", c.key, c.numeral, got, c.want, c.why)
		}
	}
}

// Whatever chord of whatever key: players who realize the figures find its notes.
func TestFiguresAreRealized(t *testing.T) {
	tried := 0
	for fifths := -7; fifths <= 7; fifths++ {
		signature := theory.KeySignature{Fifths: int8(fifths)}
		for root := fifths - 8; root <= fifths+10; root++ {
			for q := range Quality(numQualities) {
				for inversion := range q.Size() {
					c := Chord{theory.PitchClassAtFifths(root), q, inversion}
					figures, ok := c.Figures(signature)
					if !ok {
						continue
					}
					tried++
					got, err := realize(c.Bass(), figures, signature)
					if err != nil {
						t.Fatalf("%s under %d: %v", c.Symbol(), fifths, err)
					}
					for i := range q.Size() {
						if !slices.Contains(got, q.Member(c.Root, i)) || len(got) != q.Size() {
							t.Fatalf("%s under %d fifths: %s gives %v", c.Symbol(), fifths, figureText(figures), got)
						}
					}
				}
			}
		}
	}
	if tried < 10000 {
		t.Errorf("only %d chords tried", tried)
	}
}
