package tune

import (
	"math"
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

// Roots are as likely as the weights of all ways through them add up to, tried one by one.
func TestRootsAreAsLikelyAsTheirWays(t *testing.T) {
	w := weighed(t)
	sum, want := 0.0, make([]map[theory.PitchClass]float64, len(w.notes))
	for i := range want {
		want[i] = map[theory.PitchClass]float64{}
	}
	everyWay(w, func(states []int) {
		x := math.Exp(score(w, states))
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

// score is how likely a way is, in natural logarithms up to a constant.
func score(w *Weighed, states []int) float64 {
	sum := 0.0
	for i, s := range states {
		sum += w.alone[i][s]
		if i > 0 {
			sum += w.pairs[w.context(i)][states[i-1]*len(w.states)+s]
		}
	}
	return sum
}
