package partwriting

type sixFour int8

const (
	otherSixFour sixFour = iota
	cadentialSixFour
	passingSixFour
	pedalSixFour
	arpeggiatedSixFour
)

// sixFourAt tells what a second-inversion triad does, by its bass.
func (p *Passage) sixFourAt(i int) sixFour {
	s := p.placed(i)
	return s.sixFour()
}

// sixFour tells what a second-inversion triad does, by its bass.
func (s *Sonority) sixFour() sixFour {
	c := s.Chord
	if c.cadential {
		return cadentialSixFour
	}
	switch into, out := s.Into, s.OutOf; {
	case into == nil || out == nil:
		return arpeggiatedSixFour // at the edge of a phrase there is nothing to judge by
	case into.IsStep() && out.IsStep():
		return passingSixFour
	case into.IsPerfectOctave() && out.IsPerfectOctave():
		return pedalSixFour
	case s.Before != nil && s.Before.Root() == c.Root(), s.After != nil && s.After.Root() == c.Root():
		return arpeggiatedSixFour
	case c.Root() == c.key.Tonic && s.After != nil && s.After.degree == 5:
		return cadentialSixFour
	case into.IsPerfectOctave() && out.IsStep(), into.IsStep() && out.IsPerfectOctave():
		return passingSixFour
	}
	return otherSixFour
}

// placed sets a harmony between its neighbors, its members not counted.
func (p *Passage) placed(i int) Sonority {
	h := &p.chords[i]
	s := Sonority{Chord: &h.Chord, Into: p.bassMove(h.FirstMoment), OutOf: p.bassMove(h.EndMoment), Named: named(h)}
	if before := p.preceding(i); before != nil {
		s.Before = &before.Chord
	}
	if i+1 < len(p.chords) && !p.endsPhrase(h.FirstMoment, p.chords[i+1].FirstMoment) {
		s.After = &p.chords[i+1].Chord
	}
	return s
}

// voiced sets a harmony between its neighbors as it sounds at a moment.
func (p *Passage) voiced(i, m int) Sonority {
	s := p.placed(i)
	for v := range p.Voices {
		note := p.Sounding(m, v)
		if note == nil {
			continue
		}
		s.Voices++
		if member := s.Chord.memberOf(note.Pitch.Class()); member >= 0 {
			s.Count[member]++
		}
	}
	return s
}
