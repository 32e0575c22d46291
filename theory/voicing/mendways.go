package voicing

import (
	"slices"
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// change is one note at another pitch.
type change struct {
	ref      partwriting.NoteRef
	to       theory.Pitch
	distance int
}

// ways lists up to n changes that remove a fault. First the notes of the fault
// and of the chords it stands in are moved, then those of the chords beside them
// as well; first one note, then two, then three.
func (m *mender) ways(w *window, f *partwriting.Finding, before *known, n int) [][]change {
	var out [][]change
	var near []change
	for beside := range 2 {
		singles := m.changes(w, beside)
		for size := 1; size <= m.options.MaxNotes && !m.options.stopped(); size++ {
			candidates := combinations(singles, size, func(c []change) bool { return contains(near, c) })
			for _, way := range m.waysOf(candidates, w, f, before, n) {
				if !slices.ContainsFunc(out, func(smaller []change) bool { return contains(way, smaller) }) {
					out = append(out, way)
				}
			}
			if len(out) >= n {
				return out[:n]
			}
		}
		near = singles // tried already
	}
	return out
}

// contains reports whether a change makes another one and more.
func contains(way, smaller []change) bool {
	for _, c := range smaller {
		if !slices.Contains(way, c) {
			return false
		}
	}
	return true
}

// waysOf tries candidates in order of distance and returns the up to n that leave
// the fewest faults: the fault is gone and no other has come.
func (m *mender) waysOf(candidates [][]change, w *window, f *partwriting.Finding, before *known, n int) [][]change {
	type way struct {
		changes []change
		left    int
	}
	var found []way
	clean := 0
	for _, c := range candidates {
		if m.options.stopped() {
			return nil
		}
		changed := w.changed(c)
		left, ok := 0, true
		for _, after := range m.faults(changed, harmony.Assume(changed, w.labels)) {
			if keyOf(&after) == keyOf(f) || !before.has(&after) {
				ok = false
				break
			}
			if m.wanted(&after) {
				left++
			}
		}
		if !ok {
			continue
		}
		found = append(found, way{c, left})
		if left == 0 {
			clean++
		}
		if clean == n { // what follows is farther and cannot leave less
			break
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].left < found[j].left })
	var out [][]change
	for _, c := range found[:min(n, len(found))] {
		out = append(out, c.changes)
	}
	return out
}

// combinations lists the sets of so many changes of different notes that were not
// tried before, nearest first.
func combinations(singles []change, size int, tried func([]change) bool) [][]change {
	type candidate struct {
		changes  []change
		distance int
	}
	var all []candidate
	var extend func(from, distance int, chosen []change)
	extend = func(from, distance int, chosen []change) {
		if len(chosen) == size {
			if !tried(chosen) {
				all = append(all, candidate{slices.Clone(chosen), distance})
			}
			return
		}
		for i := from; i < len(singles); i++ {
			if !slices.ContainsFunc(chosen, func(c change) bool { return c.ref == singles[i].ref }) {
				extend(i+1, distance+singles[i].distance, append(chosen, singles[i]))
			}
		}
	}
	extend(0, 0, nil)
	slices.SortStableFunc(all, func(a, b candidate) int { return a.distance - b.distance })
	out := make([][]change, 0, min(len(all), maxTries))
	for _, c := range all[:min(len(all), maxTries)] {
		out = append(out, c.changes)
	}
	return out
}
