package voicing

import (
	"cmp"
	"slices"
)

const (
	// mostVerses is how many beginnings of voicings are kept for each arrangement of a chord
	// where whole lines are judged, fewVerses in a progression of more chords than longVoiced,
	// versesTried how many are tried at a change, about.
	mostVerses  = 32
	fewVerses   = 6
	versesTried = 30000
	// versesBehind is how much more than the best beginning one may cost that is kept.
	versesBehind total = 10000
)

// verse is a voicing up to a chord.
type verse struct {
	index int32
	move  sopranoMove
	cost  total
	chord *Chord
	last  *verse
}

// recent are the last chords of a verse.
func (v *verse) recent() (h recent) {
	for back := range h {
		if v == nil {
			break
		}
		h[back], v = v.chord, v.last
	}
	return h
}

// alike reports whether two verses end with the same chords, as far as anything hangs on them.
func (v *verse) alike(other *verse) bool {
	for range narrowOver - 1 {
		switch {
		case v == other:
			return true
		case v == nil || other == nil || v.index != other.index:
			return false
		}
		v, other = v.last, other.last
	}
	return true
}

// sung is the voicing that is best by its cost and by what teachers mend in whole lines
// together. Only the best beginnings are followed, so that it may miss a better one. Its cost
// is without what lines count.
func (s *Search) sung() *Solution {
	l := s.lattice
	if l.lenient || len(l.layers) < 2 {
		return s.best
	}
	ends := make([][]*verse, l.layers[0].size)
	for index := range ends {
		at := l.layers[0].at(index, sopranoFree)
		if cost := l.layers[0].cost[at]; cost != unreachable && l.layers[0].rest[at] != unreachable {
			c := l.layers[0].chord(index, len(l.problem.Style.Voices))
			ends[index] = []*verse{{index: int32(index), cost: cost + total(c.sung(false, &l.problem.Style)), chord: &c}}
		}
	}
	for k := 1; k < len(l.layers); k++ {
		ends = l.singOn(k, ends)
	}
	best := cheapestOf(ends)
	if best == nil {
		return s.best
	}
	out := &Solution{Chords: make([]Chord, len(l.layers))}
	for k, v := len(l.layers)-1, best; v != nil; k, v = k-1, v.last {
		out.Chords[k] = *v.chord
	}
	out.Cost = Cost(best.cost) - sung(out, &l.problem.Style)
	return out
}

// cheapestOf is the cheapest verse, nil where there is none.
func cheapestOf(ends [][]*verse) (best *verse) {
	for _, verses := range ends {
		if len(verses) > 0 && (best == nil || verses[0].cost < best.cost) {
			best = verses[0]
		}
	}
	return best
}

// singOn takes the verses that end on each arrangement of a chord to the next one.
func (s *lattice) singOn(k int, ends [][]*verse) [][]*verse {
	edges, to, style := s.edges[k], &s.layers[k], &s.problem.Style
	most := mostVerses
	if len(s.layers) > longVoiced {
		most = fewVerses
	}
	kept := min(max(versesTried/max(len(edges), 1), 1), most)
	chords, alone := make([]*Chord, to.size), make([]Cost, to.size)
	tried := make([][]verse, to.size)
	furthest := unreachable
	if best := cheapestOf(ends); best != nil {
		furthest = best.cost + versesBehind
	}
	for i := range edges {
		e := &edges[i]
		from := ends[e.from]
		if len(from) == 0 || from[0].cost > furthest || to.rest[to.at(int(e.to), e.move)] == unreachable {
			continue
		}
		style.work.Step(len(from))
		c := chords[e.to]
		if c == nil {
			made := to.chord(int(e.to), len(style.Voices))
			c = &made
			chords[e.to], alone[e.to] = c, c.sung(c.PhraseEnd || k+1 == len(s.layers), style)
		}
		step := e.cost + alone[e.to] + sungBetween(from[0].chord, c, c.PhraseEnd || k+1 == len(s.layers))
		for _, before := range from[:min(len(from), kept)] {
			v := verse{index: e.to, move: e.move, chord: c, last: before}
			h := v.recent()
			v.cost = before.cost + s.after[before.move][e.move] + s.total(step+h.sung())
			tried[e.to] = append(tried[e.to], v)
		}
	}
	next := make([][]*verse, to.size)
	for i, all := range tried {
		slices.SortStableFunc(all, func(a, b verse) int { return cmp.Compare(a.cost, b.cost) })
		next[i] = fewest(all, kept)
	}
	return next
}

// fewest are so many of the verses, of those that go on alike the first.
func fewest(all []verse, n int) []*verse {
	out := make([]*verse, 0, min(n, len(all)))
	for i := range all {
		if len(out) == n {
			break
		}
		if v := all[i]; !slices.ContainsFunc(out, v.alike) {
			out = append(out, &v)
		}
	}
	return out
}
