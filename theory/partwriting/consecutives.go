package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

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
		f := p.atPair(m)
		if severity, told := p.embellishedSeverity(m); !told {
			continue
		} else if f.Severity == Off {
			f.Severity = severity
		}
		if f.Licence == "" && p.anticipates(m) {
			f.Severity, f.Licence = Remark, Anticipated
		}
		found = append(found, f)
	}
	return found
}

// embellishedSeverity returns what the rule set makes of parallels in which a
// nonchord tone has a part, Off for what the rule itself weighs, and whether they
// are told at all.
func (p *Passage) embellishedSeverity(m *PairMove) (Severity, bool) {
	if p.Limits.EmbellishedParallels == WeighedAsOthers || p.Harmony == nil {
		return Off, true
	}
	for _, r := range []NoteRef{
		{m.Upper, int(m.UpperNotes[0])}, {m.Upper, int(m.UpperNotes[1])}, {m.Lower, int(m.LowerNotes[0])}, {m.Lower, int(m.LowerNotes[1])},
	} {
		if !p.chordTone(r) {
			return p.Limits.EmbellishedParallels.severity()
		}
	}
	return Off, true
}

// beatBetween reports whether a moment on a beat lies strictly between two others.
func (p *Passage) beatBetween(from, to int) bool {
	for m := from + 1; m < to; m++ {
		if p.strength(m) > 0 {
			return true
		}
	}
	return false
}

// anticipates reports whether one of two voices moves between the beats to its
// note in the final chord of a phrase, before that chord is struck. Teachers often pass over what
// that makes with the dominant (common practice, no source).
func (p *Passage) anticipates(m *PairMove) bool {
	if p.Harmony == nil || p.strength(m.To) > 0 {
		return false
	}
	for _, r := range []NoteRef{{m.Upper, int(m.UpperNotes[1])}, {m.Lower, int(m.LowerNotes[1])}} {
		line := p.Voices[r.Voice].Notes
		if p.Harmony.Notes[r.Voice][r.Note].Class != harmony.Anticipation || r.Note+1 == len(line) {
			continue
		}
		if next := p.MomentOf(NoteRef{r.Voice, r.Note + 1}); p.isCadence(next) && !p.beatBetween(m.To, next) {
			return true
		}
	}
	return false
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
