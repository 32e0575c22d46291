package partwriting

import "partwright/theory"

// Perfect intervals one after the other in a pair of voices. An interval is
// known by its spelling and reduced to simple size, so that a twelfth counts as
// a fifth and octave to unison as octaves.
var consecutives = []*Rule{
	{
		ID: "parallel-fifths", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices, compound fifths included"},
		Check:  func(p *Passage) []Finding { return p.consecutive(fifths, (*PairMove).SameWay) },
	},
	{
		ID: "parallel-octaves", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices, fifteenths and unison to octave included"},
		Check:  func(p *Passage) []Finding { return p.consecutive(octaves, (*PairMove).SameWay) },
	},
	{
		ID: "parallel-unisons", Family: Consecutives, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "unisons are listed with the octaves"},
		Check:  func(p *Passage) []Finding { return p.consecutive(unisons, (*PairMove).SameWay) },
	},
	{
		ID: "contrary-fifths", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices; Open Music Theory v1 tests the outer voices only"},
		Check:  func(p *Passage) []Finding { return p.consecutive(fifths, p.contrary) },
	},
	{
		ID: "contrary-octaves", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices; Open Music Theory v1 tests the outer voices only"},
		Check:  func(p *Passage) []Finding { return p.consecutive(octaves, p.contrary) },
	},
}

// contrary reports whether two voices move in opposite directions, in a pair
// that the rule set looks at.
func (p *Passage) contrary(m *PairMove) bool {
	outer := m.Upper == 0 && m.Lower == len(p.Voices)-1
	return m.Motion == theory.Contrary && (outer || p.Limits.ContraryPairs == AnyPair)
}

// perfects is the perfect interval that two successive sonorities have in common.
type perfects int8

const (
	noPerfects perfects = iota
	fifths
	octaves
	unisons
)

func perfectsOf(m *PairMove) perfects {
	switch {
	case m.Before.IsPerfectFifth() && m.After.IsPerfectFifth():
		return fifths
	case m.Before == theory.Unison && m.After == theory.Unison:
		return unisons
	case m.Before.IsPerfectOctave() && m.After.IsPerfectOctave():
		return octaves
	}
	return noPerfects
}

func (p *Passage) consecutive(kind perfects, motion func(*PairMove) bool) []Finding {
	var found []Finding
	for i := 0; i < len(p.pairs) && len(found) < maxPerRule; i++ {
		m := &p.pairs[i]
		if perfectsOf(m) != kind || !motion(m) {
			continue
		}
		if p.onlyChangesRegister(m) {
			continue // the same two notes in new octaves: nothing has moved on
		}
		found = append(found, p.atPair(m))
	}
	return found
}

// onlyChangesRegister reports whether the pair keeps its two pitch classes, in
// the same voices or exchanged, within a phrase: a change of position inside one
// harmony. Common practice, no source.
func (p *Passage) onlyChangesRegister(m *PairMove) bool {
	if m.PhraseEnd {
		return false
	}
	upper, lower := p.Voices[m.Upper].Notes, p.Voices[m.Lower].Notes
	u0, u1 := upper[m.UpperNotes[0]].Pitch.Class(), upper[m.UpperNotes[1]].Pitch.Class()
	l0, l1 := lower[m.LowerNotes[0]].Pitch.Class(), lower[m.LowerNotes[1]].Pitch.Class()
	return (u0 == u1 && l0 == l1) || (u0 == l1 && l0 == u1)
}
