package voicing

import "partwright/theory"

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
	n     int
	duty  duty
	// fresh is set at a phrase join: lines start anew.
	fresh bool
	// barred is what a fault costs: forbidden or penalty.
	barred Cost
	pairs  []pairTable
	// direction holds for each voice, tone before and tone after: 1 up, 2 down,
	// 4 neither.
	direction [MaxVoices][]uint8
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

// line returns the cost of each melodic move of a voice: tone before × tone
// after.
func (m *motions) line(v int) []Cost {
	from, to := m.a.tones[v], m.b.tones[v]
	costs := make([]Cost, len(from)*len(to))
	m.direction[v] = make([]uint8, len(costs))
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
			if m.fresh {
				costs[k] = m.style.Weights.Semitone / 4 * Cost(abs(move.Semitones))
				continue
			}
			costs[k] = m.melodic(v, &from[i], &to[j], move)
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

// melodic judges one voice's move.
func (m *motions) melodic(v int, a, b *tone, move theory.Interval) Cost {
	w := &m.style.Weights
	if m.style.lifted {
		return w.Semitone * Cost(abs(move.Semitones))
	}
	cost, ok := m.duty.resolve(a, b, m.positionOf(v), w)
	if !ok || m.unsingable(move) {
		return m.barred
	}
	if move.Quality() <= theory.Diminished && move.Steps != 0 {
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
		return cost
	}
	cost += w.Semitone * Cost(size)
	if size > 4 {
		cost += w.Leap * Cost(size-4)
	}
	if move != theory.Unison && m.b.reading.MemberOf(a.pitch.Class()) >= 0 {
		cost += w.CommonToneLost
	}
	return cost
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

// unsingable reports whether a line may not move so: further than an octave, by a
// seventh or by an augmented interval. A minor seventh may be leapt while the root
// stays.
func (m *motions) unsingable(move theory.Interval) bool {
	steps, quality := abs(move.Steps), move.Quality()
	switch {
	case abs(move.Semitones) > 12 || steps > 7:
		return true
	case steps == 6 && quality == theory.Major:
		return true
	case steps == 6 && quality == theory.Minor:
		return !m.duty.revoiced()
	}
	return quality >= theory.Augmented && steps > 0
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
		for iu := range au {
			for il := range al {
				m.style.work.Step(t.cols/16 + 1)
				row := t.cost[(iu*len(al)+il)*t.cols:]
				for ju := range bu {
					for jl := range bl {
						row[ju*len(bl)+jl] = m.together(u, l, &au[iu], &al[il], &bu[ju], &bl[jl])
					}
				}
			}
		}
	}
	m.pairs = append(m.pairs, t)
}

// together judges what two voices do at the same time.
func (m *motions) together(u, l int, au, al, bu, bl *tone) Cost {
	w := &m.style.Weights
	upper, lower := bu.semitones-au.semitones, bl.semitones-al.semitones
	var cost Cost
	if u+1 == l && (bl.semitones > au.semitones || bu.semitones < al.semitones) && !m.duty.same {
		cost += w.Overlap
	}
	if upper == 0 || lower == 0 {
		return cost
	}
	same := (upper > 0) == (lower > 0)
	if same && l == m.n-1 {
		cost += w.SimilarToBass
	}
	after := perfect(bu, bl)
	switch {
	case after == imperfect:
		return cost
	case perfect(au, al) == after && !(m.duty.same && samePair(au, al, bu, bl)):
		// Consecutives: by contrary motion too, if the style says so.
		if same || !m.style.OuterOnly || m.isOuter(u, l) {
			return m.barred
		}
		return cost
	case !same:
		return cost
	}
	return m.direct(u, l, au, al, bu, after, cost)
}

func (m *motions) isOuter(u, l int) bool { return u == 0 && l == m.n-1 }

// direct judges how two voices reach a perfect interval in one direction; cost is
// what their move costs otherwise.
func (m *motions) direct(u, l int, au, al, bu *tone, after consonance, cost Cost) Cost {
	w := &m.style.Weights
	if after == fifth && diminishedFifth(au, al) {
		if l == m.n-1 {
			return m.barred
		}
		return cost + w.UnequalFifths
	}
	leaps := abs(bu.diatonic-au.diatonic) > 1
	if leaps && m.isOuter(u, l) && perfect(au, al) != after && (after == octave || !m.style.FreeDirectFifths) {
		return m.barred
	}
	return cost + w.DirectInner
}

type consonance uint8

const (
	imperfect consonance = iota
	fifth
	octave
)

func perfect(u, l *tone) consonance {
	steps, semitones := (u.diatonic-l.diatonic)%7, (u.semitones-l.semitones)%12
	switch {
	case steps == 4 && semitones == 7:
		return fifth
	case steps == 0 && semitones == 0:
		return octave
	}
	return imperfect
}

func diminishedFifth(u, l *tone) bool {
	return (u.diatonic-l.diatonic)%7 == 4 && (u.semitones-l.semitones)%12 == 6
}

// samePair reports whether both voices keep their notes and change the register
// only.
func samePair(au, al, bu, bl *tone) bool {
	return au.pitch.Class() == bu.pitch.Class() && al.pitch.Class() == bl.pitch.Class()
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
	}
	return cost
}
