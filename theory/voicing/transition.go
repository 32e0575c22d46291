package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

const (
	// forbidden is the cost of a move that may not be made.
	forbidden Cost = 1 << 28
	// penalty takes its place where the least bad is asked for: more than any
	// honest phrase costs, little enough that many of them add up.
	penalty Cost = 1 << 20
)

// motions is everything two neighboring chords need to be compared: what each
// pair of voices may do, for every pair of tones before and after.
type motions struct {
	a, b  *set
	style *Style
	law   *law
	n     int
	duty  duty
	// fresh is set at a phrase join: lines start anew.
	fresh bool
	// barred is what a fault costs: forbidden or penalty.
	barred Cost
	// revoiced is set where the harmony only changes its position, diminished where
	// both chords belong to one diminished seventh chord.
	revoiced, diminished bool
	// rises is set where the bass can step up: a seventh may then rise in tenths.
	rises bool
	// fifthMayRise is set where the first chord is a diminished triad whose fifth may be
	// doubled if it rises.
	fifthMayRise bool
	// six is set where the second chord is a six-three whose doubled bass hangs on the
	// way it is reached.
	six   *partwriting.Sonority
	pairs []pairTable
	// direction holds for each voice, tone before and tone after: 1 up, 2 down,
	// 4 neither.
	direction [MaxVoices][]uint8
	// shared are what the two chords ask of all voices together, with what each costs;
	// parts holds for each voice and move its part in each, three bits apiece.
	shared []partwriting.Shared
	prices []Cost
	parts  [MaxVoices][]uint64
	// soprano holds the class of the top voice's move.
	soprano []sopranoMove
}

// pairTable holds the cost of what voices upper and lower do together. A row is
// the two tones before, a column the two after.
type pairTable struct {
	upper, lower int
	cols         int
	cost         []Cost
}

func newMotions(a, b *set, style *Style, barred Cost) *motions {
	m := &motions{a: a, b: b, style: style, n: len(style.Voices), fresh: a.phraseEnd, barred: barred}
	m.duty = dutyBetween(a.reading, b.reading)
	m.duty.descends = a.bassFrom == m.duty.target && a.hasBassFrom
	if !m.fresh && !style.lifted {
		m.law = style.under()
		m.revoiced = partwriting.Revoiced(&a.chord, &b.chord)
		m.diminished = partwriting.WithinDiminishedSeventh(&a.chord, &b.chord)
		m.rises = (int(b.chord.Bass().Step-a.chord.Bass().Step)+7)%7 == 1
		m.fifthMayRise = a.reading.Quality() == harmony.DiminishedTriad && a.fifthMayRise(m.n)
		m.share()
		if b.chord.Size() == 3 && b.reading.Inversion() == 1 {
			six := b.sonority()
			six.Before, six.Voices, six.Count[1] = &a.chord, m.n, 2
			m.six = &six
		}
	}
	var lines [MaxVoices][]Cost
	for v := range m.n {
		lines[v] = m.line(v)
	}
	// Outer voices first: they forbid most, so that the rest is seldom asked.
	m.addPair(0, m.n-1)
	for u := 0; u < m.n; u++ {
		for l := m.n - 1; l > u; l-- {
			if u != 0 || l != m.n-1 {
				m.addPair(u, l)
			}
		}
	}
	for v := range m.n {
		m.chargeLine(v, lines[v])
	}
	return m
}

// maxShared is how many things the voices can be asked together: three bits each.
const maxShared = 21

// share lists what the two chords ask of all voices together, as far as the law has a
// price for it.
func (m *motions) share() {
	for _, s := range partwriting.SharedBetween(m.a.beside.before, &m.a.chord, &m.b.chord, m.a.beside.unsure) {
		severity := m.law.Severity(s.Rule)
		if s.Most != partwriting.Off {
			severity = min(severity, s.Most)
		}
		if partwriting.IsOmission(s.Rule) && (m.n < 4 || m.a.beside.brief && m.b.beside.brief) {
			continue // three voices may leave anything out
		}
		var v ruling
		if v.add(s.Rule, severity); v != (ruling{}) && len(m.shared) < maxShared {
			m.shared, m.prices = append(m.shared, s), append(m.prices, v.cost(&m.style.Weights, m.barred))
		}
	}
}

// line returns the cost of each melodic move of a voice: tone before × tone
// after.
func (m *motions) line(v int) []Cost {
	from, to := m.a.tones[v], m.b.tones[v]
	costs := make([]Cost, len(from)*len(to))
	m.direction[v] = make([]uint8, len(costs))
	if m.shared != nil {
		m.parts[v] = make([]uint64, len(costs))
	}
	if v == 0 {
		m.soprano = make([]sopranoMove, len(costs))
	}
	for i := range from {
		m.style.work.Step(len(to)/8 + 1)
		for j := range to {
			k := i*len(to) + j
			move := theory.Between(from[i].pitch, to[j].pitch)
			m.direction[v][k] = directionBit(move.Semitones)
			if v == 0 {
				m.soprano[k] = sopranoMoveOf(move)
				if m.fresh {
					m.soprano[k] = sopranoFree
				}
			}
			switch {
			case m.fresh:
				costs[k] = m.style.Weights.Semitone / 4 * Cost(abs(move.Semitones))
			case m.style.lifted:
				costs[k] = m.style.Weights.Semitone * Cost(abs(move.Semitones))
			default:
				costs[k] = m.melodic(v, k, &from[i], &to[j], move)
			}
		}
	}
	return costs
}

func directionBit(semitones int) uint8 {
	switch {
	case semitones > 0:
		return 1
	case semitones < 0:
		return 2
	}
	return 4
}

// melodic judges one voice's move, the k-th of its table.
func (m *motions) melodic(v, k int, a, b *tone, move theory.Interval) Cost {
	w := &m.style.Weights
	cost := m.lawful(v, k, a, b, move)
	if a.leading {
		cost += m.duty.leads(a, b, move, m.positionOf(v), w)
	}
	if a.seventh && move.Steps == 1 && m.a.reading.Inversion() == 2 && m.rises && m.a.chord.Root() != m.b.chord.Root() {
		cost += w.RisingSeventh
	}
	if move.Steps != 0 && move.Quality() <= theory.Diminished {
		cost += w.AwkwardLeap
	}
	if abs(move.Steps) == 6 {
		cost += w.SeventhLeap
	}
	size := abs(move.Semitones)
	if v == m.n-1 {
		cost += w.BassSemitone * Cost(size)
		if size > 7 && size < 12 {
			cost += w.BassSemitone * Cost(size)
		}
		return min(cost, forbidden)
	}
	cost += w.Semitone * Cost(size)
	if size > 4 {
		cost += w.Leap * Cost(size-4)
	}
	if move != theory.Unison && m.b.reading.MemberOf(a.pitch.Class()) >= 0 {
		cost += w.CommonToneLost
	}
	return min(cost, forbidden)
}

// lawful is what the rules about a line make of a move, and notes its part in what the
// voices are asked together.
func (m *motions) lawful(v, k int, a, b *tone, move theory.Interval) Cost {
	steps, quality := abs(move.Steps), theory.Perfect
	if steps > 0 {
		quality = move.Quality()
	}
	special := steps > 5 || quality <= theory.Diminished || quality >= theory.Augmented
	if !special && !a.asks && !b.seventh && m.shared == nil {
		return 0
	}
	var found ruling
	if special {
		found = m.interval(a, b, move)
	}
	if a.asks || b.seventh || m.shared != nil {
		r := m.leaving(v, a, b, move)
		if a.asks || b.seventh {
			m.law.Resolution(&r, found.add)
		}
		for i := range m.shared {
			m.parts[v][k] |= uint64(m.shared[i].Of(&r)) << (3 * i)
		}
	}
	return found.cost(&m.style.Weights, m.barred)
}

// interval is what the rules say of an interval that they are about.
func (m *motions) interval(a, b *tone, move theory.Interval) (v ruling) {
	s := partwriting.Move{Interval: move, Revoiced: m.revoiced, Diminished: m.diminished, Ends: m.b.beside.ends}
	if move.IsStep() && !m.diminished {
		s.Diminished = partwriting.OpenSecond(&m.a.chord, &m.b.chord, a.pitch.Class(), b.pitch.Class())
	}
	m.law.Move(&s, v.add)
	return v
}

// leaving is how a voice leaves a note, as the rules about it ask.
func (m *motions) leaving(v int, a, b *tone, move theory.Interval) partwriting.Resolution {
	third := func(t *tone, s *set) bool { return (int(t.pitch.Step-s.chord.Bass().Step)+7)%7 == 2 }
	r := partwriting.Resolution{
		From: &m.a.chord, To: &m.b.chord, Note: a.pitch.Class(), Goal: b.pitch.Class(), Move: move,
		Outer: v == 0 || v == m.n-1, Bass: v == m.n-1, Tenths: third(a, m.a) && third(b, m.b),
	}
	if v == m.n-1 {
		r.Descends = m.duty.descends
	}
	if v < len(m.a.cameFrom) && m.a.cameFrom[v] != nil {
		into := theory.Between(*m.a.cameFrom[v], a.pitch)
		r.Descends = into.Steps == -1 && m.a.cameFrom[v].Class() == m.duty.target
	}
	return r
}

func (m *motions) positionOf(v int) position {
	switch v {
	case m.n - 1:
		return bassVoice
	case 0:
		return topVoice
	}
	return inner
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// addPair fills the table of two voices.
func (m *motions) addPair(u, l int) {
	au, al, bu, bl := m.a.tones[u], m.a.tones[l], m.b.tones[u], m.b.tones[l]
	t := pairTable{upper: u, lower: l, cols: len(bu) * len(bl)}
	t.cost = make([]Cost, len(au)*len(al)*t.cols)
	if !m.fresh && !m.style.lifted {
		after := make([]partwriting.Distance, t.cols)
		for j := range after {
			after[j] = partwriting.DistanceOf(from(&bl[j%len(bl)], &bu[j/len(bl)]))
		}
		for iu := range au {
			for il := range al {
				m.style.work.Step(t.cols/16 + 1)
				before := partwriting.DistanceOf(from(&al[il], &au[iu]))
				row := t.cost[(iu*len(al)+il)*t.cols:]
				for j := range t.cols {
					row[j] = m.together(u, l, &au[iu], &al[il], &bu[j/len(bl)], &bl[j%len(bl)], before, after[j])
				}
			}
		}
	}
	m.pairs = append(m.pairs, t)
}

// together judges what two voices do at the same time.
func (m *motions) together(u, l int, au, al, bu, bl *tone, before, after partwriting.Distance) Cost {
	w := &m.style.Weights
	upper, lower := bu.semitones-au.semitones, bl.semitones-al.semitones
	var cost Cost
	if m.fifthMayRise && au.member == 2 && al.member == 2 && bu.diatonic-au.diatonic != 1 && bl.diatonic-al.diatonic != 1 {
		var v ruling
		v.add("diminished-triad-doubling", m.law.Severity("diminished-triad-doubling"))
		cost += v.cost(w, m.barred)
	}
	if m.six != nil && l == m.n-1 && bu.member == 1 {
		var v ruling
		v.weigh(m.law.BassOfSix(m.six, from(au, bu), from(al, bl), m.revoiced))
		cost += v.cost(w, m.barred)
	}
	if upper == 0 || lower == 0 {
		return cost
	}
	same := (upper > 0) == (lower > 0)
	if same && l == m.n-1 {
		cost += w.SimilarToBass
	}
	overlaps := u+1 == l && (bl.semitones > au.semitones || bu.semitones < al.semitones)
	if overlaps && !m.duty.same {
		cost += w.Overlap
	}
	if !overlaps && !m.law.cares[after] {
		return cost
	}
	p := m.pairMove(u, l, au, al, bu, bl, before, after)
	p.Overlaps = overlaps
	cost += m.law.pair(&p).cost(w, m.barred)
	perfect := after == partwriting.PerfectFifthApart || after == partwriting.OctaveApart || after == partwriting.UnisonApart
	unequal := before == partwriting.DiminishedFifthApart && after == partwriting.PerfectFifthApart
	switch {
	case same && unequal:
		cost += w.UnequalFifths
	case same && perfect:
		cost += w.DirectInner
	}
	return min(cost, forbidden)
}

// pairMove is how two voices move, as the rules about them ask.
func (m *motions) pairMove(u, l int, au, al, bu, bl *tone, before, after partwriting.Distance) partwriting.PairMove {
	up, low := from(au, bu), from(al, bl)
	p := partwriting.PairMove{
		Before: before, After: after, Motion: theory.MotionOf(up, low),
		UpperLeaps: abs(up.Steps) > 1, LowerLeaps: abs(low.Steps) > 1,
		Outer: u == 0 && l == m.n-1, Bass: l == m.n-1, Revoiced: m.revoiced,
	}
	switch {
	case before == partwriting.DiminishedFifthApart && after == partwriting.PerfectFifthApart:
		third := func(t *tone, s *set) bool { return (int(t.pitch.Step-s.chord.Bass().Step)+7)%7 == 2 }
		p.FifthExcused = m.a.reading.Quality() == harmony.DiminishedSeventh || third(au, m.a) && third(bu, m.b)
	case before != partwriting.OtherDistance && m.law.cares[after]:
		u0, l0, u1, l1 := au.pitch.Class(), al.pitch.Class(), bu.pitch.Class(), bl.pitch.Class()
		p.Kept = u0 == u1 && l0 == l1 || u0 == l1 && l0 == u1
	}
	return p
}

// chargeLine adds a voice's melodic costs to the first table it occurs in.
func (m *motions) chargeLine(v int, line []Cost) {
	for p := range m.pairs {
		t := &m.pairs[p]
		if t.upper != v && t.lower != v {
			continue
		}
		al, bl := len(m.a.tones[t.lower]), len(m.b.tones[t.lower])
		width := len(m.b.tones[v])
		for row := 0; row < len(t.cost)/max(t.cols, 1); row++ {
			m.style.work.Step(t.cols/64 + 1)
			for col := 0; col < t.cols; col++ {
				i, j := row/al, col/bl
				if t.lower == v {
					i, j = row%al, col%bl
				}
				t.cost[row*t.cols+col] += line[i*width+j]
			}
		}
		return
	}
}

// between returns what going from one arrangement to another costs, without
// what the arrangements cost themselves; [forbidden] if it may not be.
func (m *motions) between(a, b *arrangement) Cost {
	var cost Cost
	for p := range m.pairs {
		t := &m.pairs[p]
		row := int(a.tone[t.upper])*len(m.a.tones[t.lower]) + int(a.tone[t.lower])
		col := int(b.tone[t.upper])*len(m.b.tones[t.lower]) + int(b.tone[t.lower])
		cost += t.cost[row*t.cols+col]
		if cost >= forbidden {
			return forbidden
		}
	}
	if m.fresh || m.style.lifted {
		return cost
	}
	if a.open != b.open {
		cost += m.style.Weights.PositionChange
	}
	all := uint8(3)
	for v := range m.n {
		all &= m.direction[v][int(a.tone[v])*len(m.b.tones[v])+int(b.tone[v])]
	}
	if all != 0 {
		cost += m.style.Weights.AllSame
		if m.law.oneWay == partwriting.Fault && m.n > 2 && !m.revoiced && !m.b.beside.ends {
			cost += m.barred
		}
	}
	if m.shared != nil {
		cost += m.unsettled(a, b)
	}
	return min(cost, forbidden)
}

// unsettled is what the voices together leave open.
func (m *motions) unsettled(a, b *arrangement) Cost {
	var all uint64
	for v := range m.n {
		all |= m.parts[v][int(a.tone[v])*len(m.b.tones[v])+int(b.tone[v])]
	}
	var cost Cost
	for i, price := range m.prices {
		const open = uint64(partwriting.LeavesOpen | partwriting.CallsFor)
		if all>>(3*i)&7 == open {
			cost += min(price, forbidden)
		}
	}
	return min(cost, forbidden)
}
