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
	return weighedTune(t, "B4", "A4", "G4")
}

// weighedTune is a phrase in G.
func weighedTune(t *testing.T, names ...string) *Weighed {
	t.Helper()
	key, err := theory.ParseKey("G")
	if err != nil {
		t.Fatal(err)
	}
	var notes []Note
	for i, name := range names {
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
		for _, way := range w.draw(rand.New(rand.NewPCG(seed, 1))) {
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

// Roots are as likely as the weights of all ways through them add up to, tried one by one.
func TestRootsAreAsLikelyAsTheirWays(t *testing.T) {
	w := weighed(t)
	sum, want := 0.0, make([]map[theory.PitchClass]float64, len(w.notes))
	for i := range want {
		want[i] = map[theory.PitchClass]float64{}
	}
	everyWay(w, func(states []int) {
		x := math.Exp(w.score(states))
		sum += x
		for i, s := range states {
			want[i][w.readings[s].Root()] += x
		}
	})
	for i, roots := range w.Roots() {
		for root, chance := range roots {
			if math.Abs(chance-want[i][root]/sum) > 1e-9 {
				t.Errorf("note %d: %v is said to be likely by %.6f, all ways give %.6f", i+1, root, chance, want[i][root]/sum)
			}
		}
	}
}

// everyWay calls do with every way through three notes.
func everyWay(w *Weighed, do func(states []int)) {
	for a := range w.states {
		for b := range w.states {
			for c := range w.states {
				do([]int{a, b, c})
			}
		}
	}
}

// The way that is preferred is the best of all, tried one by one, by what it meets and how likely
// it is; not always the likeliest.
func TestPreferredWay(t *testing.T) {
	others := 0
	for _, names := range [][]string{{"B4", "A4", "G4"}, {"E5", "D5", "E5"}, {"B4", "E5", "D5"}, {"G4", "E5", "C5"}, {"E5", "F#5", "G5"}} {
		w := weighedTune(t, names...)
		best := w.Preferred(Melody, nothing)
		if !slices.Equal(best, w.way(w.likeliest())) {
			others++
		}
		if want := bestOfAll(w); !slices.Equal(best, want) {
			t.Errorf("%v is preferred, the best of all is %v", best, want)
		}
	}
	if others == 0 {
		t.Error("no way is preferred to the likeliest")
	}
}

// bestOfAll is the way of all that is preferred where nothing is disliked.
func bestOfAll(w *Weighed) Way {
	chances, shares := w.Roots(), map[theory.PitchClass]float64{}
	for s, r := range w.readings {
		shares[r.Root()] += w.shares[s]
	}
	var want []int
	most := math.Inf(-1)
	everyWay(w, func(states []int) {
		x := w.score(states)
		for i, s := range states {
			root := w.readings[s].Root()
			x += meets*chances[i][root]/math.Pow(max(shares[root], rarestShare), leanings[Melody].roots) -
				leanings[Melody].chords*math.Log(max(w.shares[s], rarestShare)/max(shares[root], rarestShare))
		}
		if x > most {
			want, most = states, x
		}
	})
	return w.way(want)
}

// A way that is disliked less than it is better stays, and gives way where it is disliked more.
func TestDislikedWay(t *testing.T) {
	w := weighed(t)
	best := w.Preferred(Melody, nothing)
	for _, much := range []float64{0.01, 20} {
		other := w.Preferred(Melody, func(way Way) float64 {
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
