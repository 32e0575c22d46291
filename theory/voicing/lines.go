package voicing

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// direction is where a voice goes, a bit for each.
type direction uint8

const (
	up direction = 1 << iota
	down
	nowhere
)

func directionOf(semitones int) direction {
	switch {
	case semitones > 0:
		return up
	case semitones < 0:
		return down
	}
	return nowhere
}

// lineMove is what one voice does from one note to the next.
type lineMove struct {
	// parts is its part in each thing that the chords ask of all voices together, three
	// bits apiece.
	parts uint64
	cost  Cost
	steps int16
	way   direction
	// leaps is set where it moves by more than a second.
	leaps bool
	// soprano is the class of the move in the top voice.
	soprano sopranoMove
}

// line works out each melodic move of a voice: tone before × tone after.
func (m *motions) line(v int) {
	from, to := m.a.tones[v], m.b.tones[v]
	m.lines[v] = m.steps.take(len(from) * len(to))
	for i := range from {
		m.style.work.Step(len(to)/8 + 1)
		common := m.b.chord.Has(from[i].class)
		for j := range to {
			move := theory.Interval{Steps: to[j].diatonic - from[i].diatonic, Semitones: to[j].semitones - from[i].semitones}
			l := &m.lines[v][i*len(to)+j]
			*l = lineMove{steps: int16(move.Steps), way: directionOf(move.Semitones), leaps: abs(move.Steps) > 1}
			if v == 0 && !m.fresh {
				l.soprano = sopranoMoveOf(move)
			}
			switch {
			case m.fresh:
				l.cost = m.style.Weights.Semitone / 4 * Cost(abs(move.Semitones))
			case m.style.lifted:
				l.cost = m.style.Weights.Semitone * Cost(abs(move.Semitones))
			default:
				l.cost = m.melodic(v, l, &from[i], &to[j], move)
				if common && v < m.n-1 && move != theory.Unison {
					l.cost = min(l.cost+m.style.Weights.CommonToneLost, forbidden)
				}
			}
		}
	}
}

// melodic judges one voice's move but for a common tone that it leaves.
func (m *motions) melodic(v int, l *lineMove, a, b *tone, move theory.Interval) Cost {
	w := &m.style.Weights
	quality := theory.Perfect
	if move.Steps != 0 {
		quality = move.Quality()
	}
	cost := m.lawful(v, l, a, b, move, quality)
	if a.leading {
		cost += m.duty.leads(a, b, move, m.positionOf(v), w)
	}
	if a.seventh && move.Steps == 1 && m.a.reading.Inversion() == 2 && m.rises && m.a.chord.Root() != m.b.chord.Root() {
		cost += w.RisingSeventh
	}
	if quality <= theory.Diminished {
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
	if size == 0 && m.lasting&bitOf(a.class) != 0 {
		cost += w.StandsStill
	}
	cost += w.Semitone * Cost(size)
	if size > 4 {
		cost += w.Leap * Cost(size-4)
	}
	return min(cost, forbidden)
}

// lawful is what the rules about a line make of a move, and notes its part in what the
// voices are asked together.
func (m *motions) lawful(v int, l *lineMove, a, b *tone, move theory.Interval, quality theory.Quality) Cost {
	special := abs(move.Steps) > 5 || quality <= theory.Diminished || quality >= theory.Augmented
	tends := a.asks || b.seventh
	if !special && !tends && len(m.shared) == 0 {
		return 0
	}
	m.told = ruling{}
	if special {
		m.askInterval(a, b, move)
	}
	if tends || len(m.shared) > 0 {
		m.leaving(v, a, b, move)
		if tends {
			m.law.Resolution(&m.asked.resolution, m.tell)
		}
		for i := range m.shared {
			l.parts |= uint64(m.shared[i].Of(&m.asked.resolution)) << (3 * i)
		}
	}
	return m.told.cost(&m.style.Weights, m.barred)
}

// askInterval asks the rules about an interval that they are about.
func (m *motions) askInterval(a, b *tone, move theory.Interval) {
	s := &m.asked.move
	*s = partwriting.Move{Interval: move, Revoiced: m.revoiced, Diminished: m.diminished, Ends: m.b.beside.ends}
	if move.IsStep() && !m.diminished {
		s.Diminished = partwriting.OpenSecond(&m.a.chord, &m.b.chord, a.class, b.class)
	}
	m.law.Move(s, m.tell)
}

// leaving sets out how a voice leaves a note, as the rules about it ask.
func (m *motions) leaving(v int, a, b *tone, move theory.Interval) {
	r := &m.asked.resolution
	*r = partwriting.Resolution{
		From: &m.a.chord, To: &m.b.chord, Note: a.class, Goal: b.class, Move: move,
		Outer: v == 0 || v == m.n-1, Bass: v == m.n-1, Tenths: a.third && b.third,
	}
	if v == m.n-1 {
		r.Descends = m.duty.descends
	}
	if v < len(m.a.cameFrom) && m.a.cameFrom[v] != nil {
		into := theory.Between(*m.a.cameFrom[v], a.pitch)
		r.Descends = into.Steps == -1 && m.a.cameFrom[v].Class() == m.duty.target
	}
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
