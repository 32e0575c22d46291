package partwriting

import "partwright/theory"

// Notes that are raised or lowered against the key, and where they lead.
var chromatics = []*Rule{
	{
		ID: "augmented-sixth-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.4", "the interval opens by semitones; on the way to V7 the raised fourth slides down"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, _ *chord) bool { return h.Quality().IsAugmentedSixth() })
		},
	},
	{
		ID: "neapolitan-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.3", "the lowered second falls to the leading tone or the tonic"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, _ *chord) bool { return h.Numeral.IsNeapolitan(h.Key.Mode) })
		},
	},
	{
		ID: "altered-tone-unresolved", Family: Tendency,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "raised notes rise, lowered notes fall, or slide back by semitone; on the way to a dominant or the tonic; leading tones and sevenths have rules of their own"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, next *chord) bool {
				goal := next.Numeral.IsDominant() || next.Numeral.Cadential || next.Numeral.IsTonic()
				return goal && !h.Quality().IsAugmentedSixth() && !h.Numeral.IsNeapolitan(h.Key.Mode) && !h.Numeral.IsDominant() && !h.Numeral.IsTonic()
			})
		},
	},
}

// unresolvedAltered reports altered members of some harmonies that go the wrong
// way when the harmony changes.
func (p *Passage) unresolvedAltered(applies func(h, next *chord) bool) []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.following(i)
		if next == nil || !applies(h, next) || !p.isLastOfRoot(i) {
			return
		}
		for member := range h.Size() {
			c := h.Member(member)
			_, alter := h.Key.Degree(c)
			if !altered(h.Key, c) {
				continue
			}
			if seventh, ok := h.Seventh(); ok && seventh == c {
				continue
			}
			for _, t := range p.tendencies(i, h, c) {
				if t.next < 0 || t.move == theory.Unison || p.touched(t) || p.leadsOn(t, next, alter) {
					continue
				}
				found = append(found, p.atTendency(t))
			}
		}
	})
	return found
}

// leadsOn reports whether an altered note goes on in its own direction by step,
// falls or rises a third in it (as the lowered second to the leading tone), or
// slides back by a semitone.
func (p *Passage) leadsOn(t tendencyNote, next *chord, alter int) bool {
	return p.soon(t, next, func(i theory.Interval, _ theory.PitchClass) bool {
		switch {
		case i.Steps == 0 && i.Semitones*alter < 0:
			return true
		case alter > 0:
			return i.Steps == 1
		}
		return i.Steps == -1 || (i.Steps == -2 && i.Semitones == -2)
	})
}
