package harmony

import "slices"

// terms are what successions add to the score of a path: the habits times their
// weights, in the states of the two vocabularies.
type terms struct {
	// pair[mode][to*states+from] is a succession within a key, with what it costs
	// to stay in it; reach[0][mode][to] is the most that any of them adds, and
	// reach[1][mode][to] that after a phrase end.
	pair  [2][]float32
	reach [2][2][]float32
	// start is the same after a phrase end, whatever stood before.
	first, start, final, last, exit, entry, older, newer [2][]float32
	// usual is what a succession adds on average, change what a change of key does, by
	// whether a phrase has just ended: both as the glance hears them.
	usual  [2][]float32
	change [2]float32
	// leap is indexed by whether a phrase has just ended.
	leap [2]float32
}

func newTerms(h *habits, w *weights) *terms {
	t := &terms{}
	for mode := range h.words {
		n := h.words[mode].states()
		stay := w.keyHabits * h.stay[0]
		t.pair[mode] = times(w.habits, h.pair[mode], stay)
		t.reach[0][mode] = make([]float32, n)
		for to := range n {
			row := t.pair[mode][to*n : (to+1)*n]
			row[to] = stay - w.again
			t.reach[0][mode][to] = slices.Max(row)
		}
		t.usual[mode] = times(w.habits, h.expected[mode], stay)
		t.first[mode] = times(w.firstHabits, h.first[mode], 0)
		t.start[mode] = times(w.habits, h.start[mode], w.keyHabits*h.stay[1])
		t.reach[1][mode] = t.start[mode]
		t.final[mode] = times(w.endHabits, h.final[mode], 0)
		t.last[mode] = times(w.lastHabits, h.last[mode], 0)
		t.exit[mode] = times(w.habits, h.exit[mode], 0)
		t.entry[mode] = times(w.habits, h.entry[mode], 0)
		t.older[mode] = times(w.habits, h.older[mode], w.keyHabits*h.pivot[0]-w.pivot)
		t.newer[mode] = times(w.habits, h.newer[mode], 0)
	}
	for at := range t.leap {
		t.leap[at] = w.keyHabits*h.leap[at] - w.leap
		t.change[at] = max(t.leap[at], w.keyHabits*h.pivot[at]-w.pivot) - w.keyHabits*h.stay[at]
	}
	return t
}

// times returns the values times a weight, each with a sum added.
func times(weight float32, values []float32, add float32) []float32 {
	out := make([]float32, len(values))
	for i, v := range values {
		out[i] = weight*v + add
	}
	return out
}
