package partwriting

import "partwright/theory"

// Move is how one voice goes from one chord to the next, all that the rules about a
// line's intervals ask.
type Move struct {
	Interval theory.Interval
	// Revoiced is set where the harmony only changes its position.
	Revoiced bool
	// Diminished is set where all that sounds around the move belongs to one
	// diminished seventh chord.
	Diminished bool
	// Sequence is set in the bass of a sequence by fifths.
	Sequence bool
	// Ends is set where a phrase ends with the move, Next is what follows it, nil
	// where nothing is known to.
	Ends bool
	Next *theory.Interval
}

// moveRule is a rule about the interval of a line.
type moveRule struct {
	id     RuleID
	breaks func(*Move) bool
}

var moveRules = []moveRule{
	{"augmented-second", func(m *Move) bool {
		return augmented(m.Interval) && m.Interval.Number() == 2 && !m.Diminished
	}},
	{"augmented-interval", func(m *Move) bool {
		n := m.Interval.Number()
		return augmented(m.Interval) && n >= 3 && n <= 7 && !m.Revoiced && !m.Sequence
	}},
	{"leap-of-seventh", func(m *Move) bool {
		q := m.Interval.Quality()
		return m.Interval.Number() == 7 && (q == theory.Major || q == theory.Minor && !m.Revoiced)
	}},
	{"leap-over-octave", func(m *Move) bool { return wider(m.Interval, theory.PerfectOctave) }},
	{"diminished-interval", func(m *Move) bool {
		n := m.Interval.Number()
		if m.Interval.Quality() != theory.Diminished || n != 4 && n != 5 && n != 7 || m.Revoiced || m.Ends {
			return false
		}
		return m.Next == nil || !turnsBack(m.Interval, *m.Next) || !m.Next.IsStep()
	}},
}

// moveRuleByID returns the rule about a line's interval with a name.
func moveRuleByID(id RuleID) *moveRule {
	for i := range moveRules {
		if moveRules[i].id == id {
			return &moveRules[i]
		}
	}
	panic("no rule about a line's interval is called " + string(id))
}

// Move tells which rules the line of a voice breaks.
func (l *Law) Move(m *Move, tell Telling) {
	for i := range moveRules {
		if moveRules[i].breaks(m) {
			l.tell(moveRules[i].id, Off, tell)
		}
	}
}

// inOneVoice checks every move of every voice within its phrase by the rule about
// intervals with a name.
func inOneVoice(id RuleID) func(*Passage) []Finding {
	return func(p *Passage) []Finding {
		rule := moveRuleByID(id)
		var found []Finding
		for v := range p.lines {
			for i := range p.lines[v] {
				m := &p.lines[v][i]
				if m.PhraseEnd || m.Interval.Steps == 0 {
					continue
				}
				if s := p.stretchOf(v, i); rule.breaks(&s) {
					found = append(found, p.atMove(m))
				}
			}
		}
		return append(found, p.leapsOverJumps(rule)...)
	}
}

// stretchOf works out what the rules about a line's intervals ask; what costs a look at
// the harmony only for intervals that a rule is about.
func (p *Passage) stretchOf(voice, i int) Move {
	m := &p.lines[voice][i]
	s := Move{Interval: m.Interval}
	switch q := m.Interval.Quality(); {
	case augmented(m.Interval):
		s.Diminished = p.insideDiminishedSeventh(m)
		s.Sequence = p.inBassSequence(m)
	case q == theory.Diminished:
		if s.Ends = p.isCadence(m.Moment); s.Ends && p.movesAlone(m) {
			s.Ends = false // the last chord had come before
			s.Revoiced = p.insideChord(m)
			return s
		}
		if next := p.next(voice, i); next != nil {
			s.Next = &next.Interval
		}
	case m.Interval.Number() != 7:
		return s
	}
	s.Revoiced = p.revoiced(m.Moment-1, m.Moment)
	return s
}

// movesAlone reports whether all other voices hold their notes while one moves.
func (p *Passage) movesAlone(m *melodicMove) bool {
	return p.Moments[m.Moment].Struck == 1<<uint(m.Voice)
}

// insideChord reports whether both notes of a move belong to the chord at its end.
func (p *Passage) insideChord(m *melodicMove) bool {
	h := p.chordAt(m.Moment)
	notes := p.Voices[m.Voice].Notes
	return h != nil && h.set.has(notes[m.From].Pitch.Class()) && h.set.has(notes[m.To].Pitch.Class())
}

// WithinDiminishedSeventh reports whether the notes of two chords belong to one
// diminished seventh chord.
func WithinDiminishedSeventh(a, b *Chord) bool {
	return insideDiminished(a.set | b.set)
}

func insideDiminished(set pitchClasses) bool {
	return set.size() > 2 && set.shape()&^diminishedSeventh == 0
}
