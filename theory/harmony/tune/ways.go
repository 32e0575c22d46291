package tune

import (
	"math"
	"math/rand/v2"

	"partwright/theory"
	"partwright/theory/harmony"
)

// drawn is how many ways through a phrase are drawn to choose from and to choose by.
const drawn = 256

// sharpened is to which power ways are as likely to be drawn as they are where the likeliest
// ones are sought.
const sharpened = 2

// dislikedNotes is how many notes more a further way has to meet for what makes it less
// likely to count by 1.
const dislikedNotes = 0.25

func (w *Weighed) seeded() *rand.Rand {
	return rand.New(rand.NewPCG(3, uint64(len(w.notes)))) // #nosec G404 -- the same ways each time
}

// Preferred is the way that is likeliest once what is disliked about it counts against it, of
// the likeliest and of those that are drawn, the likelier the more often. What is disliked is
// how much less likely a way is to count, in natural logarithms.
func (w *Weighed) Preferred(dislikes func(Way) float64) Way {
	states := w.likeliest()
	best := w.way(states)
	most := w.score(states) - dislikes(best)
	for _, states := range w.draw(w.seeded(), sharpened) {
		way := w.way(states)
		if x := w.score(states) - dislikes(way); x > most {
			best, most = way, x
		}
	}
	return best
}

func (w *Weighed) way(states []int) Way {
	out := make(Way, len(states))
	for i, s := range states {
		out[i] = w.readings[s]
	}
	return out
}

// likeliest is the likeliest way.
func (w *Weighed) likeliest() []int {
	var out []int
	for i, alone := range w.alone {
		best, most := 0, math.Inf(-1)
		for s, x := range alone {
			x += w.ahead[i][s]
			if i > 0 {
				x += w.pairs[w.context(i)][out[i-1]*len(w.states)+s]
			}
			if x > most {
				best, most = s, x
			}
		}
		out = append(out, best)
	}
	return out
}

// score is how likely a way is, in natural logarithms up to a constant.
func (w *Weighed) score(states []int) float64 {
	sum := 0.0
	for i, s := range states {
		sum += w.alone[i][s]
		if i > 0 {
			sum += w.pairs[w.context(i)][states[i-1]*len(w.states)+s]
		}
	}
	return sum
}

// Way is the chords of one way through a phrase.
type Way []harmony.Reading

// Ways are up to k further ways to harmonize the phrase beside those that are taken: with
// them another musician's way is met as well as the model can tell. Ways are drawn as often
// as they are likely. Taken in turn is the one that brings all others nearest to some way that
// is taken, counted by their roots, among those that apart lets stand beside every way taken
// before (greedy choice of a submodular function: Nemhauser, Wolsey and Fisher, Mathematical
// Programming 14, 1978). What is disliked about a way counts against it ([Weighed.Preferred]). The
// same phrase has the same ways each time.
func (w *Weighed) Ways(taken []Way, k int, apart func(a, b Way) bool, dislikes func(Way) float64) []Way {
	all := w.draw(w.seeded(), 1)
	ways, roots := make([]Way, len(all)), make([][]theory.PitchClass, len(all))
	for j, states := range all {
		ways[j] = w.way(states)
		roots[j] = rootsOf(ways[j])
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
		best, most := -1, 0.0
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
			// Notes that are met more are set against what is disliked.
			if worth := float64(gain)/drawn - dislikedNotes*dislikes(way); best < 0 || worth > most {
				best, most = i, worth
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

// draw draws ways through a phrase, each as often as it is likely to a power.
func (w *Weighed) draw(random *rand.Rand, power float64) [][]int {
	size, n := len(w.states), len(w.notes)
	exps := w.exps(power)
	// ahead is how likely the rest of the phrase is after each chord.
	ahead := make([][]float64, n)
	for i := n - 1; i >= 0; i-- {
		alone := make([]float64, size)
		for s, x := range w.alone[i] {
			alone[s] = power * x
		}
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
