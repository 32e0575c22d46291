package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// pairTable holds the cost of what two voices do together. A row is the dyad before, a
// column the dyad after.
type pairTable struct {
	cols int
	cost []Cost
}

// pairFacts is what is the same for all moves of two voices between two chords.
type pairFacts struct {
	upper, lower int
	// bass is set where the lower voice is the lowest of all, neighbors where the two are,
	// above where they are neighbors above it.
	bass, neighbors, above bool
	// facts are those that hold throughout.
	facts facts
}

// addPair adds the table of the two voices that come next in [pairsOf]. A voice's melodic
// costs are charged with the first pair that it is in.
func (m *motions) addPair() {
	p, together := len(m.pairs), m.together()
	chargeUpper, chargeLower := p == 0, p < m.n-1
	a, b := m.a.dyads[p], m.b.dyads[p]
	t := pairTable{cols: len(b), cost: m.costs.take(len(a) * len(b))}
	f := m.factsOf(p)
	for i := range a {
		m.style.work.Step(len(b)/16 + 1)
		row := t.cost[i*len(b) : (i+1)*len(b)]
		upper := m.lines[f.upper][int(a[i].upper)*len(m.b.tones[f.upper]):]
		lower := m.lines[f.lower][int(a[i].lower)*len(m.b.tones[f.lower]):]
		for j := range row {
			x, y := &upper[b[j].upper], &lower[b[j].lower]
			var cost Cost
			switch {
			case together:
				cost = m.pair(&f, &a[i], &b[j], x, y)
			case m.joins():
				cost = m.joined(&f, &a[i], &b[j], x, y)
			}
			if chargeUpper {
				cost += x.cost
			}
			if chargeLower {
				cost += y.cost
			}
			row[j] = cost
		}
	}
	m.pairs = append(m.pairs, t)
}

func (m *motions) factsOf(p int) pairFacts {
	pair := pairsOf[m.n][p]
	f := pairFacts{upper: pair.upper, lower: pair.lower, bass: pair.lower == m.n-1, neighbors: pair.upper+1 == pair.lower}
	f.above = f.neighbors && !f.bass
	if f.bass {
		f.facts |= bassPair
		if pair.upper == 0 {
			f.facts |= outerPair
		}
	}
	if m.revoiced {
		f.facts |= revoiced
	}
	return f
}

// pair judges what two voices do at the same time.
func (m *motions) pair(f *pairFacts, a, b *dyad, upper, lower *lineMove) Cost {
	w := &m.style.Weights
	var cost Cost
	if m.fifthMayRise || m.six || a.distance == partwriting.UnisonApart {
		cost = m.doubled(f, a, b, upper, lower)
	}
	if upper.way == nowhere || lower.way == nowhere {
		return cost
	}
	same := upper.way == lower.way
	if same && f.bass {
		cost += w.SimilarToBass
	}
	overlaps := f.neighbors && m.overlap(f, a, b)
	if overlaps && !m.duty.same {
		cost += w.Overlap
	}
	if !overlaps && !m.law.cares[b.distance] {
		return cost
	}
	cost += m.judged(f, a, b, upper, lower, overlaps)
	switch {
	case !same:
	case a.distance == partwriting.DiminishedFifthApart && b.distance == partwriting.PerfectFifthApart:
		cost += w.UnequalFifths
	case b.distance == partwriting.PerfectFifthApart || b.distance == partwriting.OctaveApart || b.distance == partwriting.UnisonApart:
		cost += w.DirectInner
	}
	return min(cost, forbidden)
}

// joined is what two voices cost together from one phrase to the next: nothing but
// consecutives is judged there.
func (m *motions) joined(f *pairFacts, a, b *dyad, upper, lower *lineMove) Cost {
	if upper.way == nowhere || lower.way == nowhere || !m.law.cares[a.distance] || !m.law.cares[b.distance] {
		return 0
	}
	return Cost(m.law.join(a.distance, b.distance, motionOf(upper, lower), f.facts&outerPair != 0)) * m.style.Weights.SeamConsecutive
}

// motionOf is how two voices that both move go together.
func motionOf(upper, lower *lineMove) theory.Motion {
	switch {
	case upper.way != lower.way:
		return theory.Contrary
	case upper.steps == lower.steps:
		return theory.Parallel
	}
	return theory.Similar
}

// judged is what the law makes of two voices that both move.
func (m *motions) judged(f *pairFacts, a, b *dyad, upper, lower *lineMove, overlaps bool) Cost {
	s := stretch{before: a.distance, after: b.distance, motion: motionOf(upper, lower), facts: f.facts}
	if upper.leaps {
		s.facts |= upperLeaps
	}
	if lower.leaps {
		s.facts |= lowerLeaps
	}
	if overlaps {
		s.facts |= overlapping
	}
	if m.keptOrExcused(f, a, b) {
		s.facts |= keptOrExcused
	}
	return m.law.pair(s).cost(&m.style.Weights, m.barred)
}

// keptOrExcused reports whether two voices keep their notes, or exchange them, in other
// octaves; or, where a diminished fifth becomes a perfect one, whether that is excused: the
// upper voice runs in tenths with the bass, or a diminished seventh chord sounds.
func (m *motions) keptOrExcused(f *pairFacts, a, b *dyad) bool {
	if a.distance == partwriting.OtherDistance || !m.law.cares[b.distance] {
		return false
	}
	u0, l0 := &m.a.tones[f.upper][a.upper], &m.a.tones[f.lower][a.lower]
	u1, l1 := &m.b.tones[f.upper][b.upper], &m.b.tones[f.lower][b.lower]
	if a.distance == partwriting.DiminishedFifthApart && b.distance == partwriting.PerfectFifthApart {
		return m.a.reading.Quality() == harmony.DiminishedSeventh || u0.third && u1.third
	}
	return u0.class == u1.class && l0.class == l1.class || u0.class == l1.class && l0.class == u1.class
}

// overlap reports whether one of two neighbors goes past the note that the other leaves.
func (m *motions) overlap(f *pairFacts, a, b *dyad) bool {
	u0, l0 := &m.a.tones[f.upper][a.upper], &m.a.tones[f.lower][a.lower]
	u1, l1 := &m.b.tones[f.upper][b.upper], &m.b.tones[f.lower][b.lower]
	return l1.semitones > u0.semitones || u1.semitones < l0.semitones
}

// doubled judges two voices that double the fifth of a diminished triad, or stay together
// on one note, and one that doubles the bass of a six-three, by the way they move.
func (m *motions) doubled(f *pairFacts, a, b *dyad, upper, lower *lineMove) (cost Cost) {
	if m.fifthMayRise && upper.steps != 1 && lower.steps != 1 &&
		m.a.tones[f.upper][a.upper].member == 2 && m.a.tones[f.lower][a.lower].member == 2 {
		cost += m.fifthStays
	}
	if f.above && a.distance == partwriting.UnisonApart && b.distance == partwriting.UnisonApart {
		cost += m.stays
	}
	if m.six && f.bass && upper.way|lower.way != up|down && m.b.tones[f.upper][b.upper].member == 1 {
		cost += m.sixDouble
	}
	return cost
}
