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
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "augmented fourths, fifths, sixths; not while the harmony stays"},
		Check: func(p *Passage) []Finding {
			return p.melodic(func(m *MelodicMove) bool {
				n := m.Interval.Number()
				return augmented(m.Interval) && n >= 3 && n <= 7 && !p.sameHarmony(m.Moment-1, m.Moment)
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
	const diminishedSeventh = 1<<0 | 1<<3 | 1<<6 | 1<<9
	sounding := p.chroma(m.Moment-1) | p.chroma(m.Moment)
	for shift := 0; shift < 3; shift++ {
		if sounding&^(diminishedSeventh<<shift) == 0 {
			return true
		}
	}
	return false
}
