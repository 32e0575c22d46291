package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Notes that are raised or lowered against the key, and where they lead.
var chromatics = []*Rule{
	{
		ID: "augmented-sixth-unresolved", Family: Tendency, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.4", "the interval opens by semitones; on the way to V7 the raised fourth slides down"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, _ *chord) bool { return h.Quality().IsAugmentedSixth() })
		},
	},
	{
		ID: "neapolitan-unresolved", Family: Tendency, Severity: Caution,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 29.3", "the lowered second falls to the leading tone or the tonic"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, _ *chord) bool { return h.Numeral.IsNeapolitan(h.Key.Mode) })
		},
	},
	{
		ID: "altered-tone-unresolved", Family: Tendency, Severity: Caution,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "raised notes rise, lowered notes fall, or slide back by semitone; on the way to a dominant or the tonic; leading tones and sevenths have rules of their own"},
		Check: func(p *Passage) []Finding {
			return p.unresolvedAltered(func(h, next *chord) bool {
				goal := next.Numeral.IsDominant() || next.Numeral.Cadential || next.Numeral.IsTonic()
				return goal && !h.Quality().IsAugmentedSixth() && !h.Numeral.IsNeapolitan(h.Key.Mode) && !h.Numeral.IsDominant() && !h.Numeral.IsTonic()
			})
		},
	},
	{
		ID: "chromatic-doubling", Family: ChordTones, Severity: Caution,
		Source: Source{"Open Music Theory v1", "altered subdominant chords", "an Italian sixth doubles the first degree, a Neapolitan sixth its bass"},
		Check:  (*Passage).chromaticDoublings,
	},
	{
		ID: "leading-tone-not-raised", Family: Spelling, Severity: Fault,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "minor v to i at the end of a phrase, unless the chord was given as v"},
		Check:  (*Passage).unraisedLeads,
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

func (p *Passage) chromaticDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(_ int, h *chord) {
		m := h.FirstMoment
		italian := h.Quality() == harmony.ItalianSixth
		neapolitan := h.Numeral.IsNeapolitan(h.Key.Mode) && h.Inversion() == 1
		if (!italian && !neapolitan) || p.sounding(m) != 4 || !p.plain(m, h) || p.spelling(m).size() != 3 {
			return
		}
		right := h.Bass()
		if italian {
			right = h.Key.Tonic
		}
		if p.countOf(m, right) < 2 {
			f := p.atChord(m, h)
			f.Args = append(f.Args, Arg{"note", right})
			found = append(found, f)
		}
	})
	return found
}

func (p *Passage) unraisedLeads() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		q := h.Quality()
		if h.Key.Mode != theory.MinorMode || h.Numeral.Degree != 5 || h.Numeral.IsApplied() || (q != harmony.MinorTriad && q != harmony.MinorSeventh) {
			return
		}
		if named(h) {
			return // somebody has named the chord v, and means it
		}
		next := p.following(i)
		if !p.isLastOfRoot(i) {
			return // it is raised while the root lasts
		}
		if next == nil || next.Key != h.Key || !next.Numeral.IsTonic() || !p.isCadence(next.EndMoment-1) {
			return
		}
		m := h.EndMoment - 1
		notes := p.holding(m, h.Member(1))
		if len(notes) == 0 {
			return
		}
		f := p.atNotes(m, notes)
		f.Args = []Arg{{"note", h.Member(1)}, {"raised", h.Key.LeadingTone()}, {"key", h.Key}}
		found = append(found, f)
	})
	return found
}
