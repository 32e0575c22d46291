package tune

import (
	"math"
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// drawn is how many ways through a phrase are drawn to choose from and to choose by.
const drawn = 256

const (
	// meets is how much likelier a way is to count for each note at which it has the root that is
	// as good as certain, in natural logarithms. Measured on chorales whose labels were held back.
	meets = 4
	// rarestShare is what no root and no chord counts as rarer than.
	rarestShare = 0.0005
)

// leaning is how much what is rare counts, so that not every note that may stand over the tonic
// does: to which power a root counts more the rarer it is, and a chord the rarer it is among
// those on its root.
type leaning struct{ roots, chords float64 }

// leanings are those for each line: a melody leaves much open, a bass little. Measured as [meets].
var leanings = [...]leaning{Melody: {0.5, 0.4}, Bass: {}}

// dislikedNotes is how many notes more a further way has to meet for what makes it less
// likely to count by 1.
const dislikedNotes = 0.25

func (w *Weighed) seeded() *rand.Rand {
	return rand.New(rand.NewPCG(3, uint64(len(w.notes)))) // #nosec G404 -- the same ways each time
}

// Preferred is the way that meets what musicians are likely to have, counted by roots, and is
// likely as a whole, once what is disliked about it counts against it: of the best without that
// and of those that are drawn, the likelier the more often. What is disliked is how much less
// likely a way is to count, in natural logarithms. The likeliest way alone is right at fewer
// notes, since it stakes all on one, and has the most frequent chords too often under a melody.
func (w *Weighed) Preferred(line Line, dislikes func(Way) float64) Way {
	w = w.meeting(leanings[line])
	states := w.likeliest()
	best := w.way(states)
	most := w.score(states) - dislikes(best)
	for _, states := range w.draw(w.seeded()) {
		way := w.way(states)
		if x := w.score(states) - dislikes(way); x > most {
			best, most = way, x
		}
	}
	return best
}

// meeting is the phrase where roots that are likely at a note, over all ways, count beside what
// speaks for each chord (decoding for the expected number of right labels, as in Goodman,
// Parsing algorithms and metrics, ACL 1996).
func (w *Weighed) meeting(l leaning) *Weighed {
	m := *w
	m.alone = make([][]float64, len(w.alone))
	shares := make([]float64, w.size[0])
	for s, x := range w.shares {
		shares[w.group[0][s]] += x
	}
	for i, roots := range w.rootChances() {
		m.alone[i] = slices.Clone(w.alone[i])
		for s := range m.alone[i] {
			root := w.group[0][s]
			ofAll, ofRoot := max(shares[root], rarestShare), max(w.shares[s], rarestShare)/max(shares[root], rarestShare)
			m.alone[i][s] += meets*roots[root]*math.Pow(ofAll, -l.roots) - l.chords*math.Log(ofRoot)
		}
	}
	m.look()
	return &m
}

// rootChances are how likely each group of chords on one root is at each note, over all ways.
func (w *Weighed) rootChances() [][]float64 {
	out := make([][]float64, len(w.alone))
	for i, chords := range w.likely(&w.phrase, w.alone, nil) {
		out[i] = make([]float64, w.size[0])
		for s, x := range chords {
			out[i][w.group[0][s]] += x
		}
	}
	return out
}

// Roots are how likely each root is at each note, over all ways through the phrase.
func (w *Weighed) Roots() []map[theory.PitchClass]float64 {
	out := make([]map[theory.PitchClass]float64, len(w.alone))
	for i, chances := range w.rootChances() {
		out[i] = map[theory.PitchClass]float64{}
		for s, r := range w.readings {
			out[i][r.Root()] = chances[w.group[0][s]]
		}
	}
	return out
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
	all := w.draw(w.seeded())
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

// draw draws ways through a phrase, each as often as it is likely.
func (w *Weighed) draw(random *rand.Rand) [][]int {
	size, n := len(w.states), len(w.notes)
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
				for t, e := range w.exps[w.context(i+1)][s*size : s*size+size] {
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
					weights[s] *= w.exps[w.context(i)][out[j][i-1]*size+s]
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
