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
	landings := make(map[landing]int, len(r.leaps))
	for _, l := range r.leaps {
		if at := (landing{l.kind, l.name}); l.kind.isLanding() {
			if _, taken := landings[at]; !taken {
				landings[at] = l.measure
			}
		}
	}
	for _, l := range r.leaps {
		if l.kind == daCapo {
			add(l.measure, 0)
		}
		to, leads := l.kind.leadsTo()
		if !leads {
			continue
		}
		if at, there := landings[landing{to, l.name}]; there {
			add(l.measure, at)
			continue
		}
		r.notices.add(l.at, noticePlace{measure: max(l.measure, 0)}, "jump-without-landing",
			"The jump to %q has no sign to lead to; it is not followed.", excerpt([]byte(l.name)))
	}
	slices.SortFunc(jumps, func(a, b theory.Jump) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	r.doc.Score.Jumps = slices.Compact(jumps)
}

// landing is a segno or coda by its name; the first of a name counts.
type landing struct {
	kind leapKind
	name string
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
