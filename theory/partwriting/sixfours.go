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
	all := p.chords
	h := &all[i]
	if h.Numeral.Cadential {
		return cadentialSixFour
	}
	before, after := p.bassMove(h.FirstMoment), p.bassMove(h.EndMoment)
	switch {
	case before == nil || after == nil:
		return arpeggiatedSixFour // at the edge of a phrase there is nothing to judge by
	case before.IsStep() && after.IsStep():
		return passingSixFour
	case before.IsPerfectOctave() && after.IsPerfectOctave():
		return pedalSixFour
	case (i > 0 && all[i-1].Root() == h.Root()) || (i+1 < len(all) && all[i+1].Root() == h.Root()):
		return arpeggiatedSixFour
	case h.Root() == h.Key.Tonic && i+1 < len(all) && all[i+1].Numeral.Degree == 5:
		return cadentialSixFour
	case before.IsPerfectOctave() && after.IsStep(), before.IsStep() && after.IsPerfectOctave():
		return passingSixFour
	}
	return otherSixFour
}

// betweenDominants reports whether a dominant over the same bass came just
// before: the six-four is then the neighbor of a dominant that was there already.
func (p *Passage) betweenDominants(i int) bool {
	before := p.preceding(i)
	return before != nil && before.Numeral.Degree == 5 && before.Bass() == p.chords[i].Bass()
}
