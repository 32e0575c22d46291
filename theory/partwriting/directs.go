package partwriting

import "partwright/theory"

// Similar motion into a perfect interval between the outer voices, where the
// upper one leaps.
var directs = []*Rule{
	{
		ID: "direct-fifths", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping; a caution where the chord only changes position and where an embellishment makes it (common practice); Open Music Theory v1 does not forbid them"},
		Check: func(p *Passage) []Finding {
			return p.direct(theory.Interval.IsPerfectFifth)
		},
	},
	{
		ID: "direct-octaves", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping; a caution where the chord only changes position and where an embellishment makes it (common practice)"},
		Check: func(p *Passage) []Finding {
			return p.direct(theory.Interval.IsPerfectOctave)
		},
	},
}

func (p *Passage) direct(perfect func(theory.Interval) bool) []Finding {
	var found []Finding
	for i := range p.pairs {
		m := &p.pairs[i]
		if m.Upper != 0 || m.Lower != len(p.Voices)-1 || !m.SameWay() {
			continue
		}
		if !perfect(m.After) || perfect(m.Before) {
			continue // perfect to perfect is a parallel, told as such
		}
		if (m.UpperMove.Number() <= 2 && p.Limits.DirectApproach == ByLeap) || m.PhraseEnd {
			continue // a step in the soprano covers it
		}
		f := p.atPair(m)
		if p.revoiced(m.From, m.To) || p.embellished(m) {
			f.Severity = Caution
		}
		found = append(found, f)
	}
	return found
}

// embellished reports whether one of the four notes of a move is a nonchord tone.
func (p *Passage) embellished(m *PairMove) bool {
	return p.embellishes(m.From, m.Upper) || p.embellishes(m.From, m.Lower) ||
		p.embellishes(m.To, m.Upper) || p.embellishes(m.To, m.Lower)
}
