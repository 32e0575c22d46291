package musicxml

import (
	"cmp"
	"slices"

	"partwright/theory"
)

// findJumps follows repeats, endings, da capo, dal segno, coda and fine, and lists
// the joins that are heard and not on the page, and those on the page that are not
// heard.
func (r *reader) findJumps() {
	signs := make([]theory.MeasureSigns, len(r.frame))
	for i := range r.frame {
		m := &r.frame[i]
		signs[i] = theory.MeasureSigns{
			Forward: m.signs.has(repeatForward), Backward: m.signs.has(repeatBackward), Times: m.times,
			EndingStart: m.signs.has(endingStart), EndingEnd: m.signs.has(endingEnd), Endings: m.endings,
		}
	}
	r.placeLeaps(signs)
	heard, whole := theory.Playing(signs)
	jumps, cuts := theory.JumpsOf(heard, len(signs))
	slices.SortFunc(jumps, func(a, b theory.Jump) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	r.doc.Score.Jumps = jumps
	if whole && len(heard) > 0 && (len(jumps) > 0 || len(heard) < len(signs)) {
		r.doc.Score.Heard, r.doc.Score.Cuts = heard, cuts
	}
}

// placeLeaps writes where da capo, dal segno, to coda and fine lead into the signs of
// their measures.
func (r *reader) placeLeaps(signs []theory.MeasureSigns) {
	r.codaSigns()
	landings := make(map[landing]int, len(r.leaps))
	for _, l := range r.leaps {
		if !l.kind.isLanding() {
			continue
		}
		// Whatever its name, a sign is where words lead that name none.
		for _, name := range []string{l.name, ""} {
			if _, taken := landings[landing{l.kind, name}]; !taken {
				landings[landing{l.kind, name}] = l.measure
			}
		}
	}
	unnamed := make(map[leapKind]bool)
	for _, l := range r.leaps {
		if l.name == "" {
			unnamed[l.kind] = true
		}
	}
	for _, l := range r.leaps {
		if l.measure < 0 || l.measure >= len(signs) {
			continue
		}
		s := &signs[l.measure]
		switch l.kind {
		case daCapo:
			s.HasReturn, s.Return = true, 0
			continue
		case fine:
			s.Fine = true
			continue
		}
		to, leads := l.kind.leadsTo()
		if !leads {
			continue
		}
		at, there := landings[landing{to, l.name}]
		if !there && unnamed[to] {
			at, there = landings[landing{to, ""}]
		}
		switch {
		case !there || at >= len(signs):
			r.withoutLanding(l)
		case to == segno:
			s.HasReturn, s.Return = true, at
		default:
			s.HasCoda, s.Coda = true, at
		}
	}
}

func (r *reader) withoutLanding(l leap) {
	place := noticePlace{measure: max(l.measure, 0)}
	if l.name == "" {
		r.notices.add(l.at, place, "jump-without-landing", "This jump has no sign to lead to; it is not followed.")
		return
	}
	r.notices.add(l.at, place, "jump-without-landing",
		"The jump to %q has no sign to lead to; it is not followed.", excerpt([]byte(l.name)))
}

// codaSigns tells what the coda signs are that say nothing by themselves. Where a word
// or sound says it for the measure, they add nothing.
func (r *reader) codaSigns() {
	spoken := make(map[int]bool)
	leaves, lands, first, last := false, false, -1, -1
	for _, l := range r.leaps {
		switch l.kind {
		case toCoda:
			leaves = true
			spoken[l.measure], spoken[l.measure+1] = true, true
		case coda:
			lands = true
			spoken[l.measure] = true
		}
	}
	for _, l := range r.leaps {
		if l.kind != codaSign || spoken[l.measure] {
			continue
		}
		if first < 0 {
			first = l.measure
		}
		first, last = min(first, l.measure), max(last, l.measure)
	}
	for i := range r.leaps {
		l := &r.leaps[i]
		switch {
		case l.kind != codaSign || spoken[l.measure]:
		case l.measure == last && !lands:
			l.kind = coda
		case l.measure == first && !leaves:
			l.kind = toCoda
			if l.atStart {
				l.measure--
			}
		}
	}
}

// landing is a segno or coda by its name; the first of a name counts.
type landing struct {
	kind leapKind
	name string
}
