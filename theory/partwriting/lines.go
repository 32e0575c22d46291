package partwriting

import "partwright/theory"

// The line of a single voice.
var lines = []*Rule{
	{
		ID: "augmented-second", Family: Line, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "fig. 26.7.4", "not inside one diminished seventh chord"},
		Check: func(p *Passage) []Finding {
			return p.melodic(func(m *MelodicMove) bool {
				return augmented(m.Interval) && m.Interval.Number() == 2 && !p.insideDiminishedSeventh(m)
			})
		},
	},
	{
		ID: "augmented-interval", Family: Line, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "augmented fourths, fifths, sixths; not while the root stays, nor in the bass of a sequence by fifths"},
		Check: func(p *Passage) []Finding {
			return p.melodic(func(m *MelodicMove) bool {
				n := m.Interval.Number()
				return augmented(m.Interval) && n >= 3 && n <= 7 && !p.revoiced(m.Moment-1, m.Moment) && !p.inBassSequence(m)
			})
		},
	},
	{
		ID: "leap-over-octave", Family: Line, Severity: Fault,
		Source: Source{"Collaros, Partwriting conventions and definitions", "", "an octave itself is fine"},
		Check: func(p *Passage) []Finding {
			return p.melodic(func(m *MelodicMove) bool { return wider(m.Interval, theory.PerfectOctave) })
		},
	},
}

func augmented(i theory.Interval) bool {
	q := i.Quality()
	return q == theory.Augmented || q == theory.DoublyAugmented
}

// melodic reports the moves of all voices that match, within phrases.
func (p *Passage) melodic(match func(*MelodicMove) bool) []Finding {
	var found []Finding
	for v := range p.lines {
		for i := range p.lines[v] {
			m := &p.lines[v][i]
			if !m.PhraseEnd && match(m) {
				found = append(found, p.atMove(m))
			}
		}
	}
	return found
}

// insideDiminishedSeventh reports whether all that sounds around a move belongs
// to one diminished seventh chord, whose arpeggio contains the interval.
func (p *Passage) insideDiminishedSeventh(m *MelodicMove) bool {
	sounding := p.spelling(m.Moment-1) | p.spelling(m.Moment)
	return sounding.size() > 2 && sounding.shape()&^diminishedSeventh == 0
}

// inBassSequence reports whether a move of the bass stands between a fourth or
// fifth on either side, all in alternating directions: roots that fall by fifths.
func (p *Passage) inBassSequence(m *MelodicMove) bool {
	if m.Voice != len(p.Voices)-1 || m.Interval.Number() != 4 {
		return false
	}
	notes := p.Voices[m.Voice].Notes
	if m.From == 0 || m.To+1 >= len(notes) {
		return false
	}
	before := theory.Between(notes[m.From-1].Pitch, notes[m.From].Pitch)
	after := theory.Between(notes[m.To].Pitch, notes[m.To+1].Pitch)
	return isRootLeap(before) && isRootLeap(after) && turnsBack(before, m.Interval) && turnsBack(m.Interval, after)
}

func isRootLeap(i theory.Interval) bool { return i.Number() == 4 || i.Number() == 5 }
