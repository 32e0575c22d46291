package voicing

import (
	"context"
	"reflect"
	"testing"

	"partwright/theory/harmony/tune"
)

// Harmonizations of one line differ from one another in a quarter of the chords at least, by
// a count of our own here; each keeps the line, is what its own chords cost, and leaves the
// progression as it was.
func TestContrastingHarmonizations(t *testing.T) {
	for _, text := range []string{
		"C: soprano E4 F4 G4 A4 G4 F4 E4 D4 C4", "G: soprano B4 C5 D5 B4 A4 G4 A4 A4 G4",
		"a: soprano C5 B4 A4 B4 C5 D5 C5 B4 A4", "D: unfigured D3 E3 F#3 G3 A3 B3 G3 A3 D3",
	} {
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatal(err)
		}
		harmonize(t, p, Applied)
		before := p.weights()
		pose := func() *Problem { return p.Problem(Chorale()) }
		first, err := Solve(pose())
		if err != nil {
			t.Fatal(err)
		}
		found, err := p.Contrasting(context.Background(), tune.Default, Applied, first, pose, 4)
		if err != nil || len(found) < 2 {
			t.Errorf("%s: %d others, %v", text, len(found), err)
		}
		if !reflect.DeepEqual(choicesOf(before), choicesOf(p.weights())) {
			t.Errorf("%s: the progression is changed", text)
		}
		all := []*Solution{first}
		for _, way := range found {
			for _, other := range all {
				different := 0.0
				for k := 1; k < len(p.Chords); k++ {
					a, b := way.Solution.Chords[k].Reading, other.Chords[k].Reading
					if a.Root() != b.Root() {
						different++
					} else if a.Bass() != b.Bass() {
						different += 0.25
					}
				}
				if 4*different < float64(len(p.Chords)-1) {
					t.Errorf("%s: two differ in %g of %d chords: %v, %v", text, different, len(p.Chords)-1, way.Solution, other)
				}
			}
			all = append(all, way.Solution)
			for k, c := range way.Solution.Chords {
				if top := p.Chords[k].Fixed; len(top) > 0 && c.Pitches[0] != *top[0] {
					t.Errorf("%s: the melody is changed at note %d", text, k+1)
				}
			}
			explanation, err := way.Search.Explain(context.Background(), way.Solution)
			if err != nil {
				t.Fatal(err)
			}
			sum := Cost(0)
			for _, charge := range explanation.Opening {
				sum += charge.Cost
			}
			for _, change := range explanation.Changes {
				sum += change.Cost
			}
			if sum != way.Solution.Cost {
				t.Errorf("%s: the reasons add up to %v, the voicing costs %v", text, sum, way.Solution.Cost)
			}
		}
	}
}

func choicesOf(weights []weighedChord) (out [][]Choice) {
	for _, w := range weights {
		out = append(out, w.choices)
	}
	return out
}

// Nothing is to choose where all chords are given.
func TestGivenChordsHaveNoContrast(t *testing.T) {
	p, err := ReadProgression("C: I IV V I")
	if err != nil {
		t.Fatal(err)
	}
	first, err := Solve(p.Problem(Chorale()))
	if err != nil {
		t.Fatal(err)
	}
	if c := p.Contrast(first, first); c != 0 {
		t.Errorf("contrast %g", c)
	}
	found, err := p.Contrasting(context.Background(), tune.Default, Applied, first, func() *Problem { return p.Problem(Chorale()) }, 3)
	if err != nil || len(found) > 0 {
		t.Errorf("%d others, %v", len(found), err)
	}
}
