package partwriting

import (
	"partwright/theory"
)

// Notes of a chord that are doubled and should not be.
var doublings = []*Rule{
	{
		ID: "leading-tone-doubled", Family: ChordTones, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "in a chord of dominant function, its own or applied; not the fifth of iii nor the root of VII, nor the third of a triad that has just come as the tonic of the key being left; a caution where the chord leads neither to its tonic nor to a chord that holds it, as where 7 falls within a line (unit 11b)"},
		Check:  (*Passage).doubledLeadingTones,
	},
	{
		ID: "seventh-doubled", Family: ChordTones, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "both would have to fall; a caution where the chord has no dominant function and may be read otherwise"},
		Check:  (*Passage).doubledSevenths,
	},
	{
		ID: "altered-tone-doubled", Family: ChordTones, Severity: Fault,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "a member raised or lowered against the key; minor keeps its raised sixth and seventh"},
		Check:  (*Passage).doubledAlteredTones,
	},
	{
		ID: "third-doubled", Family: ChordTones, Severity: Caution,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "major or minor triad in root position; free after V or a chord on the leading tone, and where the third is a first, fourth or fifth degree (Aarden & von Hippel, Music Theory Online 10.2)"},
		Check:  (*Passage).doubledThirds,
	},
	{
		ID: "bass-doubled-in-six", Family: ChordTones, Severity: Caution,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "the bass of a major or minor six-three only where it is a first, second, fourth or fifth degree; free between other six-three chords, where the doubling voice moves against the bass (Hutchinson, section 26.8), and where the bass only changes its place in a chord that goes on (common practice)"},
		Check:  (*Passage).doubledBasses,
	},
	{
		ID: "six-four-doubling", Family: ChordTones, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.11", "the bass is doubled in a six-four: a fault in a cadential one, a caution in others, free in a passing one"},
		Check:  (*Passage).sixFourDoublings,
	},
	{
		ID: "diminished-triad-doubling", Family: ChordTones, Severity: Caution,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.10", "the third is doubled; the fifth may be where it rises"},
		Check:  (*Passage).diminishedDoublings,
	},
}

// doubled reports a pitch class that two voices sound at once in a harmony, at
// the first such moment.
func (p *Passage) doubled(h *chord, c theory.PitchClass) (Finding, bool) {
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		if p.countOf(m, c) < 2 || !p.plain(m, h) {
			continue
		}
		if notes := p.holding(m, c); len(notes) > 1 {
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", c}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			return f, true
		}
	}
	return Finding{}, false
}

func (p *Passage) doubledLeadingTones() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		lead, ok := h.LeadingTone()
		if !ok || p.isOldTonic(i) {
			return
		}
		f, ok := p.doubled(h, lead)
		if !ok {
			return
		}
		if !p.leadsHome(i, h) {
			f.Severity = Caution
		}
		found = append(found, f)
	})
	return found
}

// isOldTonic reports whether a triad, read as a dominant of a new key or degree,
// is what the dominant of the key has just led to: until a seventh says otherwise
// it is heard as the tonic, and its third is no leading tone. The dominant after an
// applied dominant in its own key stays one (Hutchinson, section 29.1).
func (p *Passage) isOldTonic(i int) bool {
	all := p.chords
	h := &all[i]
	if h.hasSeventh {
		return false
	}
	for i > 0 && all[i-1].Root() == all[i].Root() && !p.endsPhrase(all[i-1].FirstMoment, all[i].FirstMoment) {
		i--
	}
	before := p.preceding(i)
	return before != nil && before.hasLead && !before.Numeral.IsApplied() && before.Key.Tonic == h.Root()
}

// leadsHome reports whether a dominant goes to the chord it belongs to or, on
// the degrees of the key, to one that holds its tonic, such as vi; at the end of
// a phrase it has done what it can.
func (p *Passage) leadsHome(i int, h *chord) bool {
	next := p.following(i)
	if next == nil {
		return true
	}
	tonic := h.Numeral.In(h.Key).Tonic
	return next.Root() == tonic || (!h.Numeral.IsApplied() && next.set.has(tonic))
}

func (p *Passage) doubledSevenths() []Finding {
	var found []Finding
	p.eachHarmony(func(_ int, h *chord) {
		if seventh, ok := h.Seventh(); ok {
			if f, ok := p.doubled(h, seventh); ok && p.rootSounds(f, h) {
				if !h.Numeral.IsDominant() && !secure(h) {
					f.Severity = Caution
				}
				found = append(found, f)
			}
		}
	})
	return found
}

// rootSounds reports whether the root is heard where a finding stands: without
// it, the note may be no seventh at all.
func (p *Passage) rootSounds(f Finding, h *chord) bool {
	return p.countOf(p.latestOf(f.Notes), h.Root()) > 0
}

// latestOf returns the moment at which the last of some notes is struck.
func (p *Passage) latestOf(notes []NoteRef) int {
	latest := 0
	for _, r := range notes {
		latest = max(latest, p.MomentOf(r))
	}
	return latest
}

func (p *Passage) doubledAlteredTones() []Finding {
	var found []Finding
	p.eachHarmony(func(_ int, h *chord) {
		lead, dominant := h.LeadingTone()
		for i := range h.Size() {
			c := h.Member(i)
			if dominant && c == lead {
				continue // told as a doubled leading tone
			}
			if seventh, ok := h.Seventh(); ok && c == seventh {
				continue // told as a doubled seventh
			}
			if !altered(h.Key, c) || (h.Numeral.IsTonic() && i == 1) {
				continue // a Picardy third is an ending, not a leading tone
			}
			if f, ok := p.doubled(h, c); ok {
				found = append(found, f)
			}
		}
	})
	return found
}

// altered reports whether a note is foreign to the key; minor has its raised
// sixth and seventh degrees.
func altered(k theory.Key, c theory.PitchClass) bool {
	degree, alter := k.Degree(c)
	if k.Mode == theory.MinorMode && alter == 1 && degree >= 6 {
		return false
	}
	return alter != 0
}
