package voicing

import (
	"math"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// change is one note at another pitch.
type change struct {
	ref partwriting.NoteRef
	to  theory.Pitch
	// effort is the least that this change adds, alone.
	effort int
	// protected is set for notes that stay unless nothing else helps.
	protected bool
}

// ways lists up to n drafts without a fault. First the notes of the fault and of the
// chords it stands in are moved, then those of the chords beside them as well; first
// one note, then two, then three. Only then come the notes that should stay.
func (m *mender) ways(d *draft, w *window, f *partwriting.Finding, before *judged, n int) []*draft {
	var out []*draft
	var chosen [][]change
	var tried [][]change // sets of changes whose combinations were tried
	for _, protected := range []bool{false, true} {
		for beside := range 2 {
			singles := m.changes(w, beside)
			if !protected {
				singles = slices.DeleteFunc(singles, func(c change) bool { return c.protected })
			}
			for size := 1; size <= m.options.MaxNotes && !m.stopped(); size++ {
				candidates := m.combinations(w, singles, size, func(c []change) bool {
					return slices.ContainsFunc(tried, func(near []change) bool { return contains(near, c) })
				})
				for _, way := range m.waysOf(candidates, d, w, f, before, n-len(out)) {
					if !slices.ContainsFunc(chosen, func(smaller []change) bool { return contains(way.changes, smaller) }) {
						out, chosen = append(out, way.draft), append(chosen, way.changes)
					}
				}
				if len(out) >= n {
					return out[:n]
				}
			}
			tried = append(tried, singles)
		}
		if len(out) > 0 {
			return out
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

// way is a set of changes with what the window shows of it, and the draft they make.
type way struct {
	changes        []change
	left, cautions int
	draft          *draft
}

// maxReadings bounds how many ways to mend one fault are read from scratch.
const maxReadings = 24

// waysOf tries candidates in order and returns the up to n that leave the fewest
// faults, then the fewest cautions. The window sorts out what cannot be; what is left
// is read and checked as a whole.
func (m *mender) waysOf(candidates [][]change, d *draft, w *window, f *partwriting.Finding, before *judged, n int) []way {
	var found []way
	clean := 0
	for _, c := range candidates {
		if m.stopped() {
			return nil
		}
		changed := w.changed(c)
		after := m.readWindow(changed, harmony.Assume(changed, w.labels))
		if !before.allows(after, f) {
			continue
		}
		left := 0
		for i := range after.grave {
			if m.wanted(&after.grave[i]) {
				left++
			}
		}
		found = append(found, way{changes: c, left: left, cautions: max(after.cautions-before.cautions, 0)})
		if left == 0 && after.cautions <= before.cautions {
			clean++
		}
		if clean == n+2 { // what follows is worse and cannot leave less
			break
		}
	}
	slices.SortStableFunc(found, func(a, b way) int {
		return slices.Compare([]int{a.left, a.cautions}, []int{b.left, b.cautions})
	})
	var out []way
	for _, c := range found[:min(len(found), maxReadings)] {
		if len(out) == n || m.stopped() {
			break
		}
		if c.draft = m.tryDraft(d, w.apply(d.texture, c.changes), f); c.draft != nil {
			out = append(out, c)
		}
	}
	return out
}

// waysOfReading lists up to n drafts without a fault that lies in how the chords are
// read, so that a window with the chords as they were cannot show it go: a final chord
// in inversion, a note outside the chord that was named. Only what brings nothing else
// in the window is read anew.
func (m *mender) waysOfReading(d *draft, w *window, f *partwriting.Finding, before *judged, n int) []*draft {
	if len(d.texture.Moments) > wholeReading {
		return nil
	}
	var out []*draft
	singles := m.changes(w, 0)
	readings := 0
	for size := 1; size <= min(m.options.MaxNotes, 2); size++ {
		for _, c := range m.combinations(w, singles, size, func([]change) bool { return false }) {
			if len(out) == n || readings == maxReadings*size || m.stopped() {
				break
			}
			changed := w.changed(c)
			if !before.allows(m.readWindow(changed, harmony.Assume(changed, w.labels)), nil) {
				continue
			}
			readings++
			if way := m.tryDraft(d, w.apply(d.texture, c), f); way != nil {
				out = append(out, way)
			}
		}
	}
	return out
}

// combinations lists the sets of so many changes of different notes that were not
// tried before, those with the least effort first.
func (m *mender) combinations(w *window, singles []change, size int, tried func([]change) bool) [][]change {
	type candidate struct {
		changes []change
		effort  int
	}
	var all []candidate
	// Many voices make more combinations than memory holds: only the first are kept.
	keep := func() {
		slices.SortStableFunc(all, func(a, b candidate) int { return a.effort - b.effort })
		all = all[:min(len(all), maxTries)]
	}
	limit := math.MaxInt
	var extend func(from, effort int, chosen []change)
	extend = func(from, effort int, chosen []change) {
		if len(chosen) == size {
			m.original.Score.Work.Step(1)
			if effort < limit && !tried(chosen) {
				if all = append(all, candidate{slices.Clone(chosen), effort}); len(all) == 2*maxTries {
					keep()
					limit = all[maxTries-1].effort
				}
			}
			return
		}
		for i := from; i < len(singles); i++ {
			if !slices.ContainsFunc(chosen, func(c change) bool { return c.ref == singles[i].ref }) {
				extend(i+1, effort+singles[i].effort, append(chosen, singles[i]))
			}
		}
	}
	extend(0, 0, nil)
	keep()
	if size > 1 { // notes that move together make lines of their own
		for i := range all {
			all[i].effort = m.effort(w.changed(all[i].changes), w, all[i].changes)
		}
		slices.SortStableFunc(all, func(a, b candidate) int { return a.effort - b.effort })
	}
	out := make([][]change, 0, len(all))
	for _, c := range all {
		out = append(out, c.changes)
	}
	return out
}
