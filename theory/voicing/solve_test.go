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

func TestAlternativesAreOrderedAndDistinct(t *testing.T) {
	all, err := Alternatives(progression(Chorale(), one, six, two, fiveSev, one, four, fiveSix, one), 10)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 10 {
		t.Fatalf("%d alternatives", len(all))
	}
	for i := 1; i < len(all); i++ {
		if all[i].Cost < all[i-1].Cost {
			t.Errorf("alternative %d costs less than the one before it", i)
		}
		if !differsFromAll(all[i], all[:i]) {
			t.Errorf("alternative %d sounds like an earlier one", i)
		}
	}
}

func BenchmarkSixteenChords(b *testing.B) {
	p := progression(Chorale(), one, six, two, five, one, four, oneSix, twoSix, fiveSev, six, four, two, cadSix4, fiveSev, one, one)
	for _, k := range []int{1, 10} {
		b.Run(map[int]string{1: "best", 10: "ten"}[k], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Alternatives(p, k); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
