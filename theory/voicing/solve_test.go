package voicing

import (
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

var (
	one      = harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad}
	oneSix   = harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: 1}
	two      = harmony.Numeral{Degree: 2, Quality: harmony.MinorTriad}
	twoSix   = harmony.Numeral{Degree: 2, Quality: harmony.MinorTriad, Inversion: 1}
	four     = harmony.Numeral{Degree: 4, Quality: harmony.MajorTriad}
	five     = harmony.Numeral{Degree: 5, Quality: harmony.MajorTriad}
	fiveSix  = harmony.Numeral{Degree: 5, Quality: harmony.MajorTriad, Inversion: 1}
	fiveSev  = harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh}
	fiveSix5 = harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh, Inversion: 1}
	six      = harmony.Numeral{Degree: 6, Quality: harmony.MinorTriad}
	sevenSix = harmony.Numeral{Degree: 7, Quality: harmony.DiminishedTriad, Inversion: 1}
	cadSix4  = harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: 2, Cadential: true}
	vocab    = []harmony.Numeral{one, oneSix, two, twoSix, four, five, fiveSix, fiveSev, fiveSix5, six, sevenSix}
)

var cMajor = theory.MajorKey(theory.PitchClass{Step: theory.C})

func progression(style Style, numerals ...harmony.Numeral) *Problem {
	p := &Problem{Style: style}
	for _, n := range numerals {
		p.Slots = append(p.Slots, Given(harmony.Reading{Key: cMajor, Numeral: n}))
	}
	return p
}

// Ten voicings of a short phrase, of one as long as an exercise and of one far
// longer: in order, different for the ear, each at the cost that its charges sum
// to.
func TestAlternativesAreOrderedAndDistinct(t *testing.T) {
	for _, n := range []int{8, 16, 100} {
		p := progression(Chorale(), chords(n)...)
		all, err := Alternatives(p, 10)
		if err != nil {
			t.Fatal(err)
		}
		if len(all) != 10 {
			t.Fatalf("%d chords: %d alternatives", n, len(all))
		}
		for i, s := range all {
			if i > 0 && s.Cost < all[i-1].Cost {
				t.Errorf("%d chords: alternative %d costs less than the one before it", n, i+1)
			}
			if !differsFromAll(s, all[:i]) {
				t.Errorf("%d chords: alternative %d sounds like an earlier one", n, i+1)
			}
			sum := Cost(0)
			for k := range s.Chords {
				sum += newPricedStep(p, s, k).cost(&p.Style)
			}
			if sum != s.Cost {
				t.Errorf("%d chords: alternative %d says it costs %d, its charges sum to %d", n, i+1, s.Cost, sum)
			}
		}
	}
}
