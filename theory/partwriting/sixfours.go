package partwriting

import "partwright/theory"

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
	if s.Into == nil || s.OutOf == nil {
		return arpeggiatedSixFour // at the edge of a phrase there is nothing to judge by
	}
	into, out := *s.Into, *s.OutOf
	stays := out.IsPerfectOctave()
	switch {
	case glides(into) && glides(out):
		return passingSixFour
	case stays && (s.putsOffAfter() || into.IsPerfectOctave()):
		return pedalSixFour
	case hasRoot(s.Before, c.Root()), hasRoot(s.After, c.Root()):
		return arpeggiatedSixFour
	case c.Root() == c.key.Tonic && s.After != nil && s.After.degree == 5:
		return cadentialSixFour
	case into.IsPerfectOctave() && glides(out), glides(into) && stays:
		return passingSixFour
	}
	return otherSixFour
}

// putsOffAfter reports whether a triad on the same bass follows, whose fifth and third
// the sixth and the fourth put off.
func (s *Sonority) putsOffAfter() bool {
	return s.After != nil && s.After.inversion == 0 && s.After.Root() == s.Chord.Bass()
}

func hasRoot(c *Chord, root theory.PitchClass) bool { return c != nil && c.Root() == root }

// glides reports whether a bass moves by step or by a chromatic semitone.
func glides(i theory.Interval) bool {
	return i.IsStep() || i.Steps == 0 && abs(i.Semitones) == 1
}

// putsOff reports whether a harmony is a six-four that nobody has named, before a
// triad on its own bass: the sixth and the fourth only put off its fifth and third,
// and nothing has gone anywhere yet.
func (p *Passage) putsOff(i int) bool {
	h := &p.chords[i]
	if named(h) || h.inversion != 2 || h.cadential || i+1 == len(p.chords) {
		return false
	}
	next := &p.chords[i+1]
	return next.inversion == 0 && next.Root() == h.Bass() && next.FirstMoment == h.EndMoment && p.bassHas(h.FirstMoment, h.Bass())
}

// placed sets a harmony between its neighbors, its members not counted.
func (p *Passage) placed(i int) Sonority {
	h := &p.chords[i]
	s := Sonority{Chord: &h.Chord, Into: p.bassMove(h.FirstMoment), OutOf: p.bassMove(h.EndMoment), Named: named(h), FifthFree: p.Limits.PredominantFifthFree}
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
