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
	for beside := range 2 {
		singles := m.changes(w, beside)
		for size := 1; size <= m.options.MaxNotes; size++ {
			for _, way := range m.waysOf(combinations(singles, size), w, f, before, n) {
				if !slices.ContainsFunc(out, func(smaller []change) bool { return contains(way, smaller) }) {
					out = append(out, way)
				}
			}
			if len(out) >= n {
				return out[:n]
			}
		}
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
	for _, c := range candidates {
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
		if n == 1 && left == 0 {
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

// combinations lists the sets of so many changes of different notes, nearest
// first.
func combinations(singles []change, size int) [][]change {
	var out [][]change
	var extend func(from int, chosen []change)
	extend = func(from int, chosen []change) {
		if len(chosen) == size {
			out = append(out, append([]change(nil), chosen...))
			return
		}
		for i := from; i < len(singles); i++ {
			taken := false
			for _, c := range chosen {
				taken = taken || c.ref == singles[i].ref
			}
			if !taken {
				extend(i+1, append(chosen, singles[i]))
			}
		}
	}
	extend(0, nil)
	distance := func(c []change) int {
		sum := 0
		for i := range c {
			sum += c[i].distance
		}
		return sum
	}
	sort.SliceStable(out, func(i, j int) bool { return distance(out[i]) < distance(out[j]) })
	return out[:min(len(out), maxTries)]
}
