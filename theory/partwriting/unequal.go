package partwriting

import "partwright/theory"

// A diminished and a perfect fifth in succession, moving the same way.
var unequals = []*Rule{
	{
		ID: "unequal-fifths", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "diminished to perfect: a fault with the bass, a caution between upper voices, free in tenths with the bass (Hutchinson, section 27.1) and from a diminished seventh chord (section 29.1)"},
		Check:  (*Passage).unequalFifths,
	},
	{
		ID: "narrowing-fifths", Family: Consecutives, Severity: Off,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.10", "perfect to diminished; most books allow it, so it is off unless a set asks for it"},
		Check:  (*Passage).narrowingFifths,
	},
}

func isDiminishedFifth(i theory.Interval) bool {
	return i.Simple() == theory.Interval{Steps: 4, Semitones: 6}
}

func (p *Passage) unequalFifths() []Finding {
	var found []Finding
	for i := 0; i < len(p.pairs) && len(found) < maxPerRule; i++ {
		m := &p.pairs[i]
		if !isDiminishedFifth(m.Before) || !m.After.IsPerfectFifth() || !m.SameWay() || m.PhraseEnd {
			continue
		}
		bass := len(p.Voices) - 1
		if m.Lower != bass && (p.inTenths(m.Upper, bass, m) || p.isDiminishedSeventh(m.From)) {
			continue
		}
		f := p.atPair(m)
		if m.Lower != bass {
			f.Severity = Caution
		}
		found = append(found, f)
	}
	return found
}

func (p *Passage) narrowingFifths() []Finding {
	var found []Finding
	for i := range p.pairs {
		m := &p.pairs[i]
		if m.Before.IsPerfectFifth() && isDiminishedFifth(m.After) && m.SameWay() && !m.PhraseEnd {
			found = append(found, p.atPair(m))
		}
	}
	return found
}

// inTenths reports whether a voice runs with the bass in thirds or tenths over
// the same two sonorities: the fourth degree then rises with good reason.
func (p *Passage) inTenths(voice, bass int, m *PairMove) bool {
	before, both := p.Dyad(m.From, voice, bass)
	after, still := p.Dyad(m.To, voice, bass)
	return both && still && before.Simple().Steps == 2 && after.Simple().Steps == 2
}

// isDiminishedSeventh reports whether a complete diminished seventh chord, as
// spelled, sounds at a moment.
func (p *Passage) isDiminishedSeventh(m int) bool {
	return p.spelling(m).shape() == diminishedSeventh
}
