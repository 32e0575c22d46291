package voicing

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// phrase8 has a choice of inversions inside and a phrase that ends within, so that
// every part of a step's reasons differs somewhere.
func phrase8() *Problem {
	p := progression(Chorale(), one, six, two, fiveSev, one, four, fiveSev, six)
	p.Slots[1] = Inversions(reading(six))
	p.Slots[5] = Inversions(reading(four))
	p.Slots[4].PhraseEnd = true
	p.Syntax = FunctionalSyntax
	return p
}

// What one search finds out for ten voicings is what ten searches find out for
// one each.
func TestReasonsSharedAreThoseOfSearchesApart(t *testing.T) {
	for name, p := range map[string]*Problem{"phrase": phrase8(), "long": progression(Chorale(), chords(40)...)} {
		search, err := NewSearch(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		shared, err := search.Alternatives(t.Context(), 10)
		if err != nil {
			t.Fatal(err)
		}
		apart, err := Alternatives(p, 10)
		if err != nil || len(apart) < 5 || !reflect.DeepEqual(shared, apart) {
			t.Fatalf("%s: %d voicings shared, %d apart, not the same (%v)", name, len(shared), len(apart), err)
		}
		for i, s := range shared {
			got, err := search.Explain(t.Context(), s)
			if err != nil {
				t.Fatal(err)
			}
			if want, err := explained(p, s); err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("%s: the reasons for voicing %d differ (%v)", name, i+1, err)
			}
			for k := range s.Chords {
				if got, want := search.charges(s, k), charges(p, s, k); !slices.Equal(got, want) {
					t.Errorf("%s: voicing %d, chord %d is charged %v, want %v", name, i+1, k+1, got, want)
				}
			}
		}
	}
}

// A runner-up costs what the cheapest voicing costs that is found when every other
// arrangement of its chord is fixed in turn and the phrase solved anew.
func TestRunnersUpAgainstSolvingAnew(t *testing.T) {
	p := progression(ThreeVoices(), one, six, two, five, one)
	search, err := NewSearch(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	all, err := search.Alternatives(t.Context(), 3)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range all {
		e, err := search.Explain(t.Context(), s)
		if err != nil {
			t.Fatal(err)
		}
		for k := 1; k < len(p.Slots); k++ {
			if want := cheapestWithout(t, p, k, s) - all[0].Cost; e.Changes[k-1].Behind != want {
				t.Errorf("voicing %d, chord %d: the runner-up is %d behind, want %d", i+1, k+1, e.Changes[k-1].Behind, want)
			}
		}
	}
}

func cheapestWithout(t *testing.T, p *Problem, k int, s *Solution) Cost {
	t.Helper()
	cheapest := Cost(math.MaxInt32)
	layer := newLayer(p, k, forbidden)
	for index := range layer.size {
		pitches := layer.chord(index, len(p.Style.Voices)).Pitches
		if samePitches(pitches, s.Chords[k].Pitches) {
			continue
		}
		q := *p
		q.Slots = slices.Clone(p.Slots)
		for v := range pitches {
			q.Slots[k].Fixed = append(slices.Clip(q.Slots[k].Fixed), &pitches[v])
		}
		var impossible *ImpossibleError
		switch other, err := Solve(&q); {
		case err == nil:
			cheapest = min(cheapest, other.Cost)
		case !errors.As(err, &impossible):
			t.Fatal(err)
		}
	}
	return cheapest
}

// A search that the hard rules leave nothing gives the least bad with its reasons.
func TestSearchOfTheImpossible(t *testing.T) {
	p := progression(Chorale(), one, two, one)
	for k, c := range []Chord{chord(one, "C5", "G4", "E4", "C3"), chord(two, "D5", "A4", "F4", "D3")} {
		for v := range c.Pitches {
			p.Slots[k].Fixed = append(p.Slots[k].Fixed, &c.Pitches[v])
		}
	}
	search, err := NewSearch(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	var impossible *ImpossibleError
	if _, err := search.Alternatives(t.Context(), 3); !errors.As(err, &impossible) || impossible.Slot != 1 {
		t.Errorf("parallel fifths and octaves are given: %v", err)
	}
	got, broken := search.LeastBad()
	want, wantBroken, err := leastBad(p)
	if err != nil || broken != wantBroken || broken == 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("%d rules broken, want %d (%v)", broken, wantBroken, err)
	}
	if e, err := search.Explain(t.Context(), got); err != nil || len(e.Changes) != 2 {
		t.Errorf("no reasons for the least bad: %v", err)
	}
}

// What comes nearest is counted exactly however long the phrase is: twice as many changes
// break and cost twice as much, far beyond what one broken rule weighs in the search.
func TestLeastBadOfALongPhrase(t *testing.T) {
	nearest := func(changes int) (cost Cost, broken int) {
		p := &Problem{Style: Chorale(), Contour: FreeContour}
		for k := range changes + 1 {
			c := chord(one, "C5", "G4", "E4", "C3")
			if k%2 == 1 {
				c = chord(two, "D5", "A4", "F4", "D3")
			}
			slot := Given(c.Reading)
			for v := range c.Pitches {
				slot.Fixed = append(slot.Fixed, &c.Pitches[v])
			}
			p.Slots = append(p.Slots, slot)
		}
		search, err := NewSearch(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		s, broken := search.LeastBad()
		return s.Cost, broken
	}
	cost4, broken4 := nearest(4)
	cost104, broken104 := nearest(104)
	const more = 40
	cost, broken := nearest(4 + 100*more)
	wantCost, wantBroken := cost4+more*(cost104-cost4), broken4+more*(broken104-broken4)
	if cost != wantCost || broken != wantBroken {
		t.Errorf("%d rules broken at %d, want %d at %d", broken, cost, wantBroken, wantCost)
	}
	if cost <= penalty || broken <= int(forbidden/penalty) {
		t.Errorf("%d rules broken at %d are too few to tell", broken, cost)
	}
}

// expiring is a context that ends after so many looks at it.
type expiring struct {
	context.Context
	left, late int
}

func (e *expiring) Err() error {
	if e.left > 0 {
		e.left--
		return nil
	}
	e.late++
	return context.DeadlineExceeded
}

// Whenever its context ends, a search ends at the next look, with the error of the
// context.
func TestSearchEndsWithItsContext(t *testing.T) {
	p := progression(Chorale(), chords(40)...)
	work := func(ctx context.Context) error {
		search, err := NewSearch(ctx, p)
		if err != nil {
			return err
		}
		all, err := search.Alternatives(ctx, 3)
		if err != nil {
			return err
		}
		_, err = search.Explain(ctx, all[0])
		return err
	}
	whole := &expiring{t.Context(), 1 << 30, 0}
	if err := work(whole); err != nil {
		t.Fatal(err)
	}
	looks := 1<<30 - whole.left
	if looks < 3*40 {
		t.Errorf("%d looks at the context in 40 chords searched forward, backward and explained", looks)
	}
	for _, after := range []int{0, 1, 20, 45, 80, 100, looks - 1} {
		ctx := &expiring{t.Context(), after, 0}
		if err := work(ctx); !errors.Is(err, context.DeadlineExceeded) || ctx.late != 1 {
			t.Errorf("ended after %d of %d looks: error %v, %d looks more", after, looks, err, ctx.late)
		}
	}
}

// stopAfter says stop after so many tries.
func stopAfter(tries int) (stop func() bool, asked *int) {
	asked = new(int)
	return func() bool { *asked++; return *asked > tries }, asked
}

func TestElaborationStops(t *testing.T) {
	p := progression(Chorale(), phrase16...)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	whole := Decorate(p, s, Layout{}, Elaboration{Density: 1})
	for _, tries := range []int{0, 3} {
		stop, asked := stopAfter(tries)
		florid := Decorate(p, s, Layout{}, Elaboration{Density: 1, Stop: stop})
		if texture, _ := florid.At(1); texture == nil || florid.Steps() > tries || florid.Steps() >= whole.Steps() || *asked != tries+1 {
			t.Errorf("stopped after %d tries: %d figures, asked %d times", tries, florid.Steps(), *asked)
		}
	}
}

func TestMendingStops(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4 | G2 B3 F4 B4 | C3 C4 E4 C5")
	analysis := harmony.Analyze(texture)
	whole := mended(texture, analysis, MendOptions{})
	if whole.Before == 0 || len(whole.Left) == whole.Before {
		t.Fatalf("%d of %d faults left without a stop", len(whole.Left), whole.Before)
	}
	stop, asked := stopAfter(0)
	m := mended(texture, analysis, MendOptions{Stop: stop})
	if len(m.Edits) != 0 || len(m.Left) != m.Before || *asked > 3 {
		t.Errorf("stopped at once: %d edits, %d of %d faults left, asked %d times", len(m.Edits), len(m.Left), m.Before, *asked)
	}
	// In the middle of the ways to mend one fault.
	stop, asked = stopAfter(5)
	m = mended(texture, analysis, MendOptions{Stop: stop})
	if len(m.Left) == 0 || *asked > 12 {
		t.Errorf("stopped after 5 tries: %d faults left, asked %d times", len(m.Left), *asked)
	}
}
