package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Chord members that are doubled and should not be, or the other way round.
var doublings = []*Rule{
	{
		ID: "leading-tone-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "in a chord of dominant function, its own or applied; not the fifth of iii nor the root of VII, nor the third of a triad that has just come as the tonic of the key being left; a caution where the chord leads neither to its tonic nor to a chord that holds it, as where 7 falls within a line (unit 11b)"},
		Check:  (*Passage).doubledLeadingTones,
	},
	{
		ID: "seventh-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "both would have to fall; a caution where the chord has no dominant function and may be read otherwise"},
		Check:  (*Passage).doubledSevenths,
	},
	{
		ID: "altered-tone-doubled", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "a member raised or lowered against the key; minor keeps its raised sixth and seventh"},
		Check:  (*Passage).doubledAlteredTones,
	},
	{
		ID: "chromatic-doubling", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "altered subdominant chords", "an Italian sixth doubles the first degree, a Neapolitan sixth its bass"},
		Check:  (*Passage).chromaticDoublings,
	},
	{
		ID: "third-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "major or minor triad in root position; free after V or a chord on the leading tone, and where the third is a first, fourth or fifth degree (Aarden & von Hippel, Music Theory Online 10.2)"},
		Check:  (*Passage).doubledThirds,
	},
	{
		ID: "bass-doubled-in-six", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "the bass of a major or minor six-three only where it is a first, second, fourth or fifth degree; free between other six-three chords, where the doubling voice moves against the bass (Hutchinson, section 26.8), and where the bass only changes its place in a chord that goes on (common practice)"},
		Check:  (*Passage).doubledBasses,
	},
	{
		ID: "six-four-doubling", Family: ChordTones,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.11", "the bass is doubled in a six-four: a fault in a cadential one, a caution in others, free in a passing one"},
		Check:  (*Passage).sixFourDoublings,
	},
	{
		ID: "diminished-triad-doubling", Family: ChordTones,
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
		latest = max(latest, p.momentOf(r))
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
				continue // reported as a doubled leading tone
			}
			if seventh, ok := h.Seventh(); ok && c == seventh {
				continue // reported as a doubled seventh
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

func (p *Passage) doubledThirds() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		third := h.Member(1)
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 0 || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, third) < 2 {
			return
		}
		if lead, ok := h.LeadingTone(); (ok && lead == third) || altered(h.Key, third) {
			return // reported as such
		}
		if before := p.preceding(i); before != nil && before.Numeral.IsDominant() {
			return // the leading tone and its neighbors lead there
		}
		switch degree, _ := h.Key.Degree(third); degree {
		case 1, 4, 5:
			return
		}
		if notes := p.holding(m, third); len(notes) > 1 {
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", third}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

func (p *Passage) doubledBasses() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		bass := h.Member(1)
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 1 || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, bass) < 2 {
			return
		}
		if lead, ok := h.LeadingTone(); (ok && lead == bass) || altered(h.Key, bass) {
			return
		}
		switch degree, _ := h.Key.Degree(bass); degree {
		case 1, 2, 4, 5:
			return
		}
		if p.besideSix(i) || p.againstBass(m, bass) || (m > 0 && p.revoiced(m-1, m)) {
			return
		}
		if notes := p.holding(m, bass); len(notes) > 1 {
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", bass}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

// besideSix reports whether a neighboring harmony is a six-three as well: in
// chains the doubling alternates.
func (p *Passage) besideSix(i int) bool {
	all := p.chords
	six := func(j int) bool { return j >= 0 && j < len(all) && all[j].Inversion() == 1 && all[j].Size() == 3 }
	return six(i-1) || six(i+1)
}

// againstBass reports whether a voice other than the bass reaches a pitch class
// at a moment while the bass moves the other way.
func (p *Passage) againstBass(m int, c theory.PitchClass) bool {
	if m == 0 {
		return false
	}
	bass := len(p.Voices) - 1
	for v := 0; v < bass; v++ {
		note := p.Sounding(m, v)
		if note == nil || note.Pitch.Class() != c {
			continue
		}
		u0, u1, l0, l1 := p.cell(m-1, v), p.cell(m, v), p.cell(m-1, bass), p.cell(m, bass)
		if u0.note >= 0 && l0.note >= 0 && int(u1.semitones-u0.semitones)*int(l1.semitones-l0.semitones) < 0 {
			return true
		}
	}
	return false
}

func (p *Passage) sixFourDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 2 || p.sounding(m) != 4 || p.countOf(m, h.Member(2)) > 1 {
			return
		}
		if !p.plain(m, h) || !p.bassHas(m, h.Bass()) || p.spelling(m).size() != 3 {
			return
		}
		kind := p.sixFourAt(i)
		if kind == passingSixFour || p.endsPhrase(max(m-1, 0), m) {
			return
		}
		f := p.atChord(m, h)
		if kind != cadentialSixFour || p.betweenDominants(i) {
			f.Severity = Caution
		}
		found = append(found, f)
	})
	return found
}

func (p *Passage) diminishedDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(_ int, h *chord) {
		m := h.FirstMoment
		if h.Quality() != harmony.DiminishedTriad || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, h.Member(1)) > 1 {
			return
		}
		lead, dominant := h.LeadingTone()
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(2)} {
			if p.countOf(m, c) < 2 || (dominant && c == lead) {
				continue
			}
			notes := p.holding(m, c)
			if len(notes) < 2 || (c == h.Member(2) && p.oneRises(notes)) {
				continue
			}
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", c}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

// oneRises reports whether one of the notes goes up by step.
func (p *Passage) oneRises(notes []NoteRef) bool {
	for _, r := range notes {
		if line := p.Voices[r.Voice].Notes; r.Note+1 < len(line) {
			i := theory.Between(line[r.Note].Pitch, line[r.Note+1].Pitch)
			if i.Steps == 1 {
				return true
			}
		}
	}
	return false
}
