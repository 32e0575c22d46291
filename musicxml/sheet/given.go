package sheet

import "slices"

// labelsAtGiven are the staves of the sheet; of an exercise, chord symbols over an empty staff
// and numerals under one stand at a staff with notes instead: symbols over the uppermost,
// numerals under the lowest without words on which each can begin, as its lyrics. LilyPond's converter drops
// all labels of measures without notes, and prints numerals as lyrics alone (see sungAt).
func (s *Sheet) labelsAtGiven() []Staff {
	staves := slices.Clone(s.Staves)
	given := slices.IndexFunc(staves, func(s Staff) bool { return !s.Blank })
	if given < 0 {
		return staves
	}
	if top := &staves[0]; top.Blank && len(staves[given].Symbols) == 0 {
		staves[given].Symbols, top.Symbols = top.Symbols, nil
	}
	last := len(staves) - 1
	if !staves[last].Blank || len(staves[last].Numerals) == 0 {
		return staves
	}
	for i := last - 1; i >= given; i-- {
		if staves[i].Blank || len(staves[i].Numerals) > 0 {
			continue
		}
		staves[i].Numerals = staves[last].Numerals
		w := &staffWriter{sheet: s, staff: &staves[i], index: i, work: s.Work}
		if !w.sings() && w.canSing() {
			staves[last].Numerals = nil
			return staves
		}
		staves[i].Numerals = nil
	}
	return staves
}
