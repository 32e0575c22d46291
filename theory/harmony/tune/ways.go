package tune

import (
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// drawn is how many ways through a phrase are drawn to choose from and to choose by.
const drawn = 256

// Way is the chords of one way through a phrase.
type Way []harmony.Reading

// Ways are up to k further ways to harmonize the phrase beside those that are taken: with
// them another musician's way is met as well as the model can tell. Ways are drawn as often
// as they are likely. Taken in turn is the one that brings all others nearest to some way that
// is taken, counted by their roots, among those that apart lets stand beside every way taken
// before (greedy choice of a submodular function: Nemhauser, Wolsey and Fisher, Mathematical
// Programming 14, 1978). The same phrase has the same ways each time.
func (w *Weighed) Ways(taken []Way, k int, apart func(a, b Way) bool) []Way {
	all := w.draw(rand.New(rand.NewPCG(3, uint64(len(w.notes))))) // #nosec G404 -- the same ways each time
	ways, roots := make([]Way, len(all)), make([][]theory.PitchClass, len(all))
	for j, states := range all {
		for _, s := range states {
			ways[j] = append(ways[j], w.readings[s])
			roots[j] = append(roots[j], w.readings[s].Root())
		}
	}
	met := make([]int, len(all))
	meet := func(way Way) {
		own := rootsOf(way)
		for j := range all {
			met[j] = max(met[j], alike(own, roots[j]))
		}
	}
	for _, way := range taken {
		meet(way)
	}
	var out []Way
	known := append([]Way(nil), taken...)
	for len(out) < k {
		best, most := -1, 0
	next:
		for i, way := range ways {
			for _, other := range known {
				if !apart(way, other) {
					continue next
				}
			}
			gain := 0
			for j := range all {
				gain += max(0, alike(roots[i], roots[j])-met[j])
			}
			if gain > most {
				best, most = i, gain
			}
		}
		if best < 0 {
			break
		}
		out, known = append(out, ways[best]), append(known, ways[best])
		meet(ways[best])
	}
	return out
}

func rootsOf(w Way) (out []theory.PitchClass) {
	for _, r := range w {
		out = append(out, r.Root())
	}
	return out
}

// alike is at how many notes two ways have one root.
func alike(a, b []theory.PitchClass) (n int) {
	for i, root := range a {
		if root == b[i] {
			n++
		}
	}
	return n
}

// draw draws ways through a phrase, each as often as it is likely.
func (w *Weighed) draw(random *rand.Rand) [][]int {
	size, n := len(w.states), len(w.notes)
	exps := w.exps()
	// ahead is how likely the rest of the phrase is after each chord.
	ahead := make([][]float64, n)
	for i := n - 1; i >= 0; i-- {
		alone := slices.Clone(w.alone[i])
		exponentials(alone)
		ahead[i] = make([]float64, size)
		for s := range size {
			x := 1.0
			if i+1 < n {
				x = 0
				for t, e := range exps[w.context(i+1)][s*size : s*size+size] {
					x += e * ahead[i+1][t]
				}
			}
			ahead[i][s] = x * alone[s]
		}
		share(ahead[i])
	}
	out := make([][]int, drawn)
	weights := make([]float64, size)
	for j := range out {
		for i := range n {
			sum := 0.0
			for s := range size {
				weights[s] = ahead[i][s]
				if i > 0 {
					weights[s] *= exps[w.context(i)][out[j][i-1]*size+s]
				}
				sum += weights[s]
			}
			x, taken := random.Float64()*sum, 0
			for s, weight := range weights {
				if weight > 0 { // rounding may leave more than there is
					taken = s
				}
				if x -= weight; x < 0 {
					break
				}
			}
			out[j] = append(out[j], taken)
		}
	}
	return out
}
