package voicing

import (
	"errors"
	"math/rand/v2"
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

// exhaustive tries every voicing one by one.
func exhaustive(p *Problem) (Cost, bool) {
	var sets []*set
	for k := range p.Slots {
		sets = append(sets, arrange(p.Slots[k].Choices[0], &p.Slots[k], &p.Style))
	}
	var ways []*motions
	for k := 1; k < len(sets); k++ {
		ways = append(ways, newMotions(sets[k-1], sets[k], &p.Style, forbidden))
	}
	best := unreachable
	var walk func(k, last int, cost Cost, move sopranoMove)
	walk = func(k, last int, cost Cost, move sopranoMove) {
		if k == len(sets) {
			best = min(best, cost)
			return
		}
		for j := range sets[k].arrangements {
			b := &sets[k].arrangements[j]
			if k == 0 {
				walk(1, j, b.cost, sopranoFree)
				continue
			}
			a := &sets[k-1].arrangements[last]
			step := ways[k-1].between(a, b)
			if step >= forbidden {
				continue
			}
			now := ways[k-1].soprano[int(a.tone[0])*len(sets[k].tones[0])+int(b.tone[0])]
			walk(k+1, j, cost+step+b.cost+p.Style.Weights.after(move, now), now)
		}
	}
	walk(0, 0, 0, sopranoFree)
	return best, best < unreachable
}

func TestSolveEqualsExhaustiveSearch(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	for range 150 {
		var numerals []harmony.Numeral
		for range 2 + random.IntN(3) {
			numerals = append(numerals, vocab[random.IntN(len(vocab))])
		}
		p := progression(Chorale(), numerals...)
		for v := range p.Style.Voices { // a narrow compass keeps the enumeration short
			r := &p.Style.Voices[v]
			low, high := r.EasyLow, r.EasyHigh
			r.Low, r.High = low, high
		}
		want, possible := exhaustive(p)
		got, err := Solve(p)
		var impossible *ImpossibleError
		switch {
		case errors.As(err, &impossible) && !possible:
		case err != nil:
			t.Fatalf("%v: %v, exhaustive search found %d", numerals, err, want)
		case got.Cost != want:
			t.Errorf("%v: cost %d, exhaustive search found %d", numerals, got.Cost, want)
		}
	}
}

func TestTransposedProgressionTransposesTheVoicing(t *testing.T) {
	up := theory.MajorSecond
	p := progression(Chorale(), one, six, two, fiveSev, one)
	q := progression(Chorale(), one, six, two, fiveSev, one)
	for k := range q.Slots {
		q.Slots[k].Choices[0].Reading.Key = theory.MajorKey(cMajor.Tonic.Transpose(up))
	}
	for v := range q.Style.Voices {
		r := &q.Style.Voices[v]
		r.Low, r.High = r.Low.Transpose(up), r.High.Transpose(up)
		r.EasyLow, r.EasyHigh = r.EasyLow.Transpose(up), r.EasyHigh.Transpose(up)
	}
	a, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Solve(q)
	if err != nil {
		t.Fatal(err)
	}
	for k := range a.Chords {
		for v, pitch := range a.Chords[k].Pitches {
			if got := b.Chords[k].Pitches[v]; got != pitch.Transpose(up) {
				t.Errorf("chord %d voice %d: %v, want %v", k, v, got, pitch.Transpose(up))
			}
		}
	}
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
