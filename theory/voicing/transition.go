package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

const (
	// forbidden is the cost of a move that may not be made.
	forbidden Cost = 1 << 28
	// penalty takes its place where the least bad is asked for: more than any honest change
	// costs, little enough that many of them add up in one. Over a phrase they are counted
	// apart, see [total].
	penalty Cost = 1 << 20
)

// motions is everything two neighboring chords need to be compared: what each voice and
// each pair of voices may do.
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
	// lasting are the notes on which an upper voice is not to stay, by [bitOf].
	lasting uint64
	// fifthMayRise is set where the first chord is a diminished triad whose fifth may be
	// doubled if it rises: what it costs that neither does.
	fifthMayRise bool
	fifthStays   Cost
	// six is set where the second chord is a six-three whose doubled bass hangs on the
	// way it is reached: what it costs to reach it other than against the bass.
	six       bool
	sixDouble Cost
	// stays is what it costs that two neighbors stay together on one note.
	stays Cost
	// shared are what the two chords ask of all voices together, with what each costs.
	shared []partwriting.Shared
	prices []Cost
	lines  [MaxVoices][]lineMove
	pairs  []pairTable
	// open, rows and moves belong to the arrangement that was left last: its position,
	// its row in each table, and the moves each voice can make.
	open  bool
	rows  [maxPairs][]Cost
	moves [MaxVoices][]lineMove

	costs buffer[Cost]
	steps buffer[lineMove]
	// asked is what the rules about one voice are asked, told what they have answered.
	asked struct {
		move       partwriting.Move
		resolution partwriting.Resolution
	}
	told ruling
	tell partwriting.Telling
}

// newMotions compares two chords that follow one another; a fault costs barred.
func newMotions(a, b *set, style *Style, barred Cost) *motions {
	m := &motions{}
	m.compare(a, b, style, barred)
	return m
}

// compare begins anew with two other chords; what was worked out before is lost.
func (m *motions) compare(a, b *set, style *Style, barred Cost) {
	if m.tell == nil {
		m.tell = func(rule partwriting.RuleID, severity partwriting.Severity) { m.told.add(rule, severity) }
	}
	m.a, m.b, m.style, m.n, m.fresh, m.barred = a, b, style, len(style.Voices), a.phraseEnd, barred
	m.duty = dutyBetween(a.reading, b.reading)
	m.duty.descends = a.bassFrom == m.duty.target && a.hasBassFrom
	m.costs.used, m.steps.used = 0, 0
	m.shared, m.prices, m.pairs = m.shared[:0], m.prices[:0], m.pairs[:0]
	m.fifthMayRise, m.six, m.stays = false, false, 0
	if m.lasting = 0; a.chord.Root() != b.chord.Root() {
		m.lasting = a.beside.lasting
	}
	if m.together() {
		m.ask()
	}
	for v := range m.n {
		m.line(v)
	}
	pairs := len(pairsOf[m.n])
	switch {
	case m.together():
	case m.joins():
		m.law = m.style.under()
	default:
		pairs = m.n - 1 // they charge every line once
	}
	for range pairs {
		m.addPair()
	}
}

// together reports whether voices are judged together: not between phrases, nor where
// the rules are lifted.
func (m *motions) together() bool { return !m.fresh && !m.style.lifted }

// joins reports whether a phrase ends between the chords and what the ear may tell
// across that is charged for.
func (m *motions) joins() bool {
	return m.fresh && !m.style.lifted && m.style.Weights.SeamConsecutive != 0
}

// ask asks the law what it has to say of the two chords.
func (m *motions) ask() {
	a, b, w := m.a, m.b, &m.style.Weights
	m.law = m.style.under()
	m.revoiced = partwriting.Revoiced(&a.chord, &b.chord)
	m.diminished = partwriting.WithinDiminishedSeventh(&a.chord, &b.chord)
	m.rises = (int(b.chord.Bass().Step-a.chord.Bass().Step)+7)%7 == 1
	m.share()
	m.leadsTo()
	if m.fifthMayRise = a.reading.Quality() == harmony.DiminishedTriad && a.fifthMayRise(m.n); m.fifthMayRise {
		var v ruling
		v.add("diminished-triad-doubling", m.law.Severity("diminished-triad-doubling"))
		m.fifthStays = v.cost(w, m.barred)
	}
	if m.six = b.chord.Size() == 3 && b.reading.Inversion() == 1; m.six {
		six := b.sonority
		six.Before, six.Voices, six.Count[1] = &a.chord, m.n, 2
		var v ruling
		v.weigh(m.law.BassOfSix(&six, theory.MajorSecond, theory.MajorSecond, m.revoiced))
		m.sixDouble = v.cost(w, m.barred)
	}
	if !a.beside.brief || !b.beside.brief {
		var v ruling
		v.add("unison", m.law.Severity("unison"))
		m.stays = v.cost(w, m.barred)
	}
}

// maxShared is how many things the voices can be asked together: three bits each.
const maxShared = 21

// share lists what the two chords ask of all voices together, as far as the law has a
// price for it.
func (m *motions) share() {
	for _, s := range partwriting.SharedBetween(m.a.beside.before, &m.a.chord, &m.b.chord, m.a.beside.unsure, m.n) {
		severity := m.law.Severity(s.Rule)
		if s.Most != partwriting.Off {
			severity = min(severity, s.Most)
		}
		if partwriting.IsOmission(s.Rule) && m.a.beside.brief && m.b.beside.brief {
			continue
		}
		var v ruling
		if v.add(s.Rule, severity); v != (ruling{}) && len(m.shared) < maxShared {
			m.shared, m.prices = append(m.shared, s), append(m.prices, v.cost(&m.style.Weights, m.barred))
		}
	}
}

// leave goes to an arrangement of the first chord, from which [motions.reach] starts.
func (m *motions) leave(a *arrangement) {
	m.open = a.open
	for p := range m.pairs {
		t := &m.pairs[p]
		row := int(a.dyad[p]) * t.cols
		m.rows[p] = t.cost[row : row+t.cols]
	}
	for v := range m.n {
		row := int(a.tone[v]) * len(m.b.tones[v])
		m.moves[v] = m.lines[v][row : row+len(m.b.tones[v])]
	}
}

// reach returns what going on to an arrangement of the second chord costs, without what
// the arrangements cost themselves; [forbidden] if it may not be.
func (m *motions) reach(b *arrangement) Cost {
	var cost Cost
	for p, row := range m.rows[:len(m.pairs)] {
		cost += row[b.dyad[p]]
		if cost >= forbidden {
			return forbidden
		}
	}
	if !m.together() {
		return cost
	}
	if m.open != b.open {
		cost += m.style.Weights.PositionChange
	}
	if m.oneWay(b) {
		cost += m.style.Weights.AllSame
		if m.law.oneWay == partwriting.Fault && m.n > 2 && !m.revoiced && !m.b.beside.ends {
			cost += m.barred
		}
	}
	if len(m.shared) > 0 {
		cost += m.unsettled(b)
	}
	return min(cost, forbidden)
}

// between is what going from one arrangement to another costs, see [motions.reach].
func (m *motions) between(a, b *arrangement) Cost {
	m.leave(a)
	return m.reach(b)
}

// top is the class of the top voice's move.
func (m *motions) top(b *arrangement) sopranoMove { return m.moves[0][b.tone[0]].soprano }

// oneWay reports whether all voices go in one direction.
func (m *motions) oneWay(b *arrangement) bool {
	all := up | down
	for v := range m.n {
		if all &= m.moves[v][b.tone[v]].way; all == 0 {
			return false
		}
	}
	return true
}

// unsettled is what the voices together leave open.
func (m *motions) unsettled(b *arrangement) Cost {
	var all uint64
	for v := range m.n {
		all |= m.moves[v][b.tone[v]].parts
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
