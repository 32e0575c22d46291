package partwriting

import "partwright/theory"

// Similar motion into a perfect interval between the outer voices, where the
// upper one leaps.
var directs = []*Rule{
	{
		ID: "direct-fifths", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping; Open Music Theory v1 does not forbid them"},
		Check: func(p *Passage) []Finding {
			return p.direct(theory.Interval.IsPerfectFifth)
		},
	},
	{
		ID: "direct-octaves", Family: Consecutives, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping"},
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
		found = append(found, p.atPair(m))
	}
	return found
}
