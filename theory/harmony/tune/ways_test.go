package tune

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

func weighed(t *testing.T) *Weighed {
	t.Helper()
	key, err := theory.ParseKey("G")
	if err != nil {
		t.Fatal(err)
	}
	var notes []Note
	for i, name := range []string{"B4", "A4", "G4"} {
		notes = append(notes, Note{theory.MustPitch(name), 3 - i})
	}
	return Default(Melody).Weigh(notes, key, func(i int, r harmony.Reading) bool { return r.MemberOf(notes[i].Pitch.Class()) >= 0 }, nil)
}

// Ways are drawn as often as they are likely: by the weights of all ways, tried one by one.
func TestWaysAreDrawnAsOftenAsTheyAreLikely(t *testing.T) {
	w := weighed(t)
	size := len(w.states)
	sum, want, got := 0.0, map[int]float64{}, map[int]float64{}
	for a := range size {
		for b := range size {
			for c := range size {
				x := math.Exp(w.alone[0][a] + w.pairs[w.context(1)][a*size+b] + w.alone[1][b] + w.pairs[w.context(2)][b*size+c] + w.alone[2][c])
				sum += x
				want[b] += x
			}
		}
	}
	const times = 40
	for seed := range uint64(times) {
		for _, way := range w.draw(rand.New(rand.NewPCG(seed, 1)), 1) {
			got[way[1]]++
		}
	}
	for s, x := range want {
		share := x / sum
		// Four standard deviations of a count of independent draws.
		if off := math.Abs(got[s]/(times*drawn) - share); off > 4*math.Sqrt(share*(1-share)/(times*drawn))+1e-9 {
			t.Errorf("%v on the second note is drawn in %.3f, likely is %.3f", w.readings[s], got[s]/(times*drawn), share)
		}
	}
}

// Further ways hold the notes and stand apart as is asked.
func TestWaysStandApart(t *testing.T) {
	w := weighed(t)
	apart := func(a, b Way) bool { return alike(rootsOf(a), rootsOf(b)) < 2 }
	var first Way
	for _, options := range w.Options() {
		for _, o := range options {
			if o.Behind == 0 {
				first = append(first, o.Reading)
			}
		}
	}
	ways := w.Ways([]Way{first}, 4, apart, nothing)
	if len(ways) < 2 {
		t.Fatalf("%d ways beside %v", len(ways), first)
	}
	all := append([]Way{first}, ways...)
	for i, way := range all {
		for note, r := range way {
			if !w.allowed(note, r) {
				t.Errorf("%v does not hold note %d", way, note+1)
			}
		}
		for _, other := range all[:i] {
			if !apart(way, other) {
				t.Errorf("%v is too near to %v", way, other)
			}
		}
	}
	if none := w.Ways(nil, 3, func(a, b Way) bool { return false }, nothing); len(none) != 1 {
		t.Errorf("%d ways where none stands apart from another", len(none))
	}
}

func nothing(Way) float64 { return 0 }

// With nothing disliked the likeliest way is preferred; one that is disliked less than it is
// likelier stays, and gives way where it is disliked more.
func TestPreferredWay(t *testing.T) {
	w := weighed(t)
	best := w.Preferred(nothing)
	for note, options := range w.Options() {
		for _, o := range options {
			if o.Behind == 0 && best[note] != o.Reading {
				t.Errorf("note %d: %v is preferred, %v is likeliest", note+1, best[note], o.Reading)
			}
		}
	}
	for _, much := range []float64{0.01, 20} {
		other := w.Preferred(func(way Way) float64 {
			if slices.Equal(way, best) {
				return much
			}
			return 0
		})
		if stays := slices.Equal(other, best); stays != (much < 1) {
			t.Errorf("disliked by %g: %v for %v", much, other, best)
		}
	}
}
