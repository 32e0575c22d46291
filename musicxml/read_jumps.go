package musicxml

import (
	"cmp"
	"slices"

	"partwright/theory"
)

// findJumps lists the joins that repeats, endings, da capo, dal segno and coda
// make in performance. How often each is taken does not matter here.
func (r *reader) findJumps() {
	var jumps []theory.Jump
	add := func(from, to int) {
		if 0 <= from && from < len(r.frame) && 0 <= to && to < len(r.frame) && to != from+1 {
			jumps = append(jumps, theory.Jump{From: from, To: to})
		}
	}
	r.repeats(add)
	for _, l := range r.leaps {
		switch l.kind {
		case daCapo:
			add(l.measure, 0)
		case dalSegno:
			add(l.measure, r.landing(segno, l))
		case toCoda:
			add(l.measure, r.landing(coda, l))
		}
	}
	slices.SortFunc(jumps, func(a, b theory.Jump) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	r.doc.Score.Jumps = slices.Compact(jumps)
}

// landing is the measure of the segno or coda that a leap names, -1 where there
// is none.
func (r *reader) landing(kind leapKind, from leap) int {
	for _, l := range r.leaps {
		if l.kind == kind && l.name == from.name {
			return l.measure
		}
	}
	r.notices.add(from.at, noticePlace{measure: max(from.measure, 0)}, "jump-without-landing",
		"The jump to %q has no sign to lead to; it is not followed.", excerpt([]byte(from.name)))
	return -1
}

// repeats follows repeat signs and endings. A backward repeat leads to its
// forward one; without one, to where the last repeat left off or to the start.
// The second and later endings follow the measure before the first one.
func (r *reader) repeats(add func(from, to int)) {
	start, beforeEndings, ended := 0, -1, false
	for i := range r.frame {
		signs := r.frame[i].signs
		if signs.has(repeatForward) {
			start, beforeEndings = i, -1
		}
		switch {
		case !signs.has(endingStart):
			if ended {
				start, beforeEndings = i, -1 // the endings are over
			}
			ended = false
		case beforeEndings < 0:
			beforeEndings = i - 1
		default:
			add(beforeEndings, i)
		}
		if signs.has(endingStart) {
			ended = false
		}
		if signs.has(endingEnd) {
			ended = true
		}
		if signs.has(repeatBackward) {
			add(i, start)
			another := i+1 < len(r.frame) && r.frame[i+1].signs.has(endingStart)
			if !another {
				start = i + 1
			}
		}
	}
}
