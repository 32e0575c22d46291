package partwriting

import "partwright/theory"

// Notes that are raised or lowered against the key, and where they lead.
var chromatics = []*Rule{
	{
		ID: "augmented-sixth-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.4", "the interval opens by semitones, its lower note also where the scale of minor has it; on the way to V7 the raised fourth slides down"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered("augmented-sixth-unresolved")
		},
	},
	{
		ID: "neapolitan-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.3", "the lowered second falls to the leading tone or the tonic"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered("neapolitan-unresolved")
		},
	},
	{
		ID: "altered-tone-unresolved", Family: Tendency,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "raised notes rise, lowered notes fall, or slide back by semitone; on the way to a dominant or the tonic; leading tones and sevenths have rules of their own"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered("altered-tone-unresolved")
		},
	},
}

// unresolvedAltered reports altered members of harmonies that a rule is about where
// they go the wrong way when the harmony changes.
func (p *Passage) unresolvedAltered(rule RuleID) []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.following(i)
		if next == nil || alterationRule(&h.Chord, &next.Chord) != rule || !p.isLastOfRoot(i) {
			return
		}
		if h.neapolitan && !named(h) && next.key != h.key {
			return // reinterpreted as a chord of the next key, it goes where that asks
		}
		for member := range h.Size() {
			pull := h.pull(member)
			if pull == 0 {
				continue
			}
			for _, t := range p.tendencies(i, h, h.Member(member)) {
				if t.next < 0 || t.move == theory.Unison || p.touched(t) || p.leadsOn(t, next, pull) {
					continue
				}
				found = append(found, p.atTendency(t))
			}
		}
	})
	return found
}

// leadsOn reports whether an altered note goes on as it should, at once or after an
// ornament.
func (p *Passage) leadsOn(t tendencyNote, next *chord, pull int) bool {
	return p.soon(t, next, func(i theory.Interval, _ theory.PitchClass) bool { return leadsOn(i, pull) })
}
