package voicing

import (
	"flag"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

var closingPhrases = flag.Int("closing-phrases", 120, "how many phrases that end with V-I are voiced")

// closingPhrase is a random phrase of common chords that ends with V or V7 and I.
func closingPhrase(random *rand.Rand, style Style) *Problem {
	middle := []harmony.Numeral{one, two, four, five, six, oneSix, twoSix}
	numerals := []harmony.Numeral{one}
	for range 2 + random.IntN(5) {
		numerals = append(numerals, middle[random.IntN(len(middle))])
	}
	numerals = append(numerals, []harmony.Numeral{two, four, twoSix}[random.IntN(3)], []harmony.Numeral{five, fiveSev}[random.IntN(2)], one)
	return progression(style, numerals...)
}

// Phrases that end with V-I close on the tonic in the top voice, as 96 % of those of
// the 370 chorales edited by C. Sapp do; at least nine in ten are asked for. Of ten
// alternatives no two have the same upper voices.
func TestPhrasesCloseOnTheTonic(t *testing.T) {
	random := rand.New(rand.NewPCG(83, 89))
	closed, all, others := 0, 0, 0
	for all < *closingPhrases {
		p := closingPhrase(random, Chorale())
		ways, err := Alternatives(p, 10)
		if err != nil {
			continue
		}
		all++
		last := ways[0].Chords[len(p.Slots)-1]
		if last.Reading.MemberOf(last.Pitches[0].Class()) == 0 {
			closed++
		}
		for i, a := range ways {
			for _, b := range ways[:i] {
				others++
				if slices.EqualFunc(a.Chords, b.Chords, func(x, y Chord) bool { return slices.Equal(x.Pitches[:3], y.Pitches[:3]) }) {
					t.Errorf("%s: alternatives %v and %v differ in the bass alone", describe(p), a.Chords, b.Chords)
				}
			}
		}
	}
	if closed*10 < all*9 {
		t.Errorf("%d of %d phrases close on the tonic", closed, all)
	}
	t.Logf("%d of %d phrases close on the tonic in the top voice; %d pairs of alternatives compared", closed, all, others)
}

// The bass goes from V to V4/2 by step or octave and never leaps a seventh where
// that is free.
func TestNoSeventhLeapIntoFourTwo(t *testing.T) {
	fourTwo := harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh, Inversion: 3}
	for _, before := range []harmony.Numeral{one, four, two, six, oneSix, twoSix} {
		p := progression(Chorale(), one, before, five, fourTwo, oneSix)
		s, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if move := theory.Between(s.Chords[2].Pitches[3], s.Chords[3].Pitches[3]); abs(move.Steps) == 6 {
			t.Errorf("after %v the bass leaps %v into V4/2", before, move)
		}
	}
}
