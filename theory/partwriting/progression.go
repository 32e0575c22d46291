package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Harmony in time: syntax, cadences, first and last chord.
var progressions = []*Rule{
	{
		ID: "retrogression", Family: Progression, Severity: Fault,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "a dominant followed by ii or IV; not as a passing or neighbor chord, nor into a new phrase; a caution where nobody has named the chords"},
		Check:  (*Passage).retrogressions,
	},
	{
		ID: "harmony-held-into-strong-beat", Family: Progression, Severity: Caution,
		Source: Source{"San Francisco Conservatory, Table of Standard Errors", "", "struck again across the bar line over the same bass; free at the opening and where a note is suspended"},
		Check:  (*Passage).heldIntoStrongBeats,
	},
	{
		ID: "cadence-missing", Family: Progression, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 10", "the phrase ends in no cadence that has a name, in the key of either chord or of the last one; what moves on under a held fermata is an afterthought; a caution where nobody has named the chord"},
		Check:  (*Passage).missingCadences,
	},
	{
		ID: "final-chord", Family: Progression, Severity: Fault,
		Source: Source{"Open Music Theory v1", "chorale harmonization", "the tonic in root position; a major third in minor is welcome, an end on V or VI is told as a remark"},
		Check:  (*Passage).finalChord,
	},
	{
		ID: "opening", Family: Progression, Severity: Remark,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 11", "the tonic, or a dominant that leads to it"},
		Check:  (*Passage).opening,
	},
}

func (p *Passage) retrogressions() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		before := p.preceding(i)
		if before == nil || !p.trusted(before) || before.Key != h.Key || h.Numeral.IsApplied() || before.Numeral.IsApplied() {
			return
		}
		if h.Numeral.Alter != 0 || (h.Numeral.Degree != 2 && h.Numeral.Degree != 4) {
			return
		}
		if !before.Numeral.IsDominant() && !before.Numeral.Cadential {
			return
		}
		if p.shorterThanBeat(h) || p.isPassingChord(i) {
			return
		}
		f := p.atNamed(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"before", before.Numeral.Text(before.Key.Mode)})
		found = append(found, f)
	})
	return found
}

// isPassingChord reports whether a chord only extends the dominants on both
// sides, or is an inversion that the bass steps through.
func (p *Passage) isPassingChord(i int) bool {
	all := p.chords
	h := &all[i]
	into, out := p.bassMove(h.FirstMoment), p.bassMove(h.EndMoment)
	if i+1 < len(all) && all[i+1].Numeral.IsDominant() && all[i+1].Key == h.Key {
		return into != nil && out != nil && (into.IsStep() || out.IsStep())
	}
	return h.Inversion() != 0 && into != nil && out != nil && into.IsStep() && out.IsStep()
}

func (p *Passage) heldIntoStrongBeats() []Finding {
	var found []Finding
	bass := len(p.Voices) - 1
	p.eachHarmony(func(i int, h *chord) {
		start := p.startOfReading(i)
		if start == 0 || p.preceding(start) == nil {
			return // the opening, or an upbeat to a phrase
		}
		first := p.chords[start].FirstMoment
		if p.strength(first) >= 2 {
			return
		}
		for m := max(first+1, h.FirstMoment); m < h.EndMoment; m++ {
			if p.strength(m) < 3 || !p.IsStruck(m, bass) || p.spelling(m) != p.spelling(m-1) || p.endsPhrase(first, m) {
				continue
			}
			if move := p.bassMove(m); move != nil && *move == theory.Unison {
				found = append(found, p.atChord(m, h))
				return
			}
		}
	})
	return found
}

// startOfReading returns the first of the harmonies up to i that have the same
// reading without a break.
func (p *Passage) startOfReading(i int) int {
	all := p.chords
	least := max(0, i-mostOnOneRoot)
	for i > least && all[i-1].Reading == all[i].Reading && !p.endsPhrase(all[i-1].FirstMoment, all[i].FirstMoment) {
		i--
	}
	return i
}

// strength returns how strong a moment is in its measure, 3 for the downbeat.
func (p *Passage) strength(m int) int {
	measure := &p.Score.Measures[p.Moments[m].Measure]
	return measure.Time.Strength(p.Moments[m].Offset.Add(measure.Into))
}

func (p *Passage) missingCadences() []Finding {
	var found []Finding
	if p.Harmony == nil {
		return nil
	}
	for i := range p.Harmony.Cadences {
		c := &p.Harmony.Cadences[i]
		h := &p.chords[c.Final]
		if c.Kind != harmony.NoCadence || !p.trusted(h) || c.Penultimate < 0 || !p.trusted(&p.chords[c.Penultimate]) {
			continue
		}
		if !p.isCadence(h.EndMoment - 1) {
			continue // the document marks no phrase end here
		}
		if first := p.Harmony.IndexAt(p.Harmony.Phrases[c.Phrase].FirstMoment); c.Final-first < 2 {
			continue // two chords are an example, not a phrase
		}
		if p.heldOver(h.FirstMoment) || cadencesElsewhere(&p.chords[c.Penultimate], h) {
			continue
		}
		found = append(found, p.atNamed(h.FirstMoment, h))
	}
	return found
}

// heldOver reports whether a note under a fermata was struck before a moment at
// which it still sounds: the cadence came where it was struck.
func (p *Passage) heldOver(m int) bool {
	for v := range p.Voices {
		if note := p.Sounding(m, v); note != nil && note.Flags.Has(theory.Fermata) && !p.IsStruck(m, v) {
			return true
		}
	}
	return false
}

// cadencesElsewhere reports whether two chords cadence in a key other than that
// of the last one as it was read: a dominant goes to its own tonic or, as it
// would deceptively, to the sixth degree of its key; or a major triad falls a
// fifth to a root position, which closes in the key of that chord unless somebody
// has named it otherwise.
func cadencesElsewhere(before, last *chord) bool {
	if last.Inversion() != 0 {
		return false
	}
	if before.hasLead {
		key := before.Numeral.In(before.Key)
		degree, alter := key.Degree(last.Root())
		return alter == 0 && (degree == 1 || degree == 6)
	}
	major := before.Quality() == harmony.MajorTriad || before.Quality() == harmony.DominantSeventh
	return major && !named(last) && before.Root().Fifths() == last.Root().Fifths()+1
}

func (p *Passage) finalChord() []Finding {
	if p.Harmony == nil || len(p.chords) < 3 || !p.isCadence(len(p.Moments)-1) {
		return nil
	}
	h := &p.chords[len(p.chords)-1]
	if !p.trusted(h) || (h.Numeral.IsTonic() && h.Inversion() == 0) {
		return nil
	}
	if all := p.chords; p.endsPhrase(all[max(0, len(all)-4)].FirstMoment, h.FirstMoment) {
		return nil // the last phrase is too short to know its key
	}
	f := p.atChord(h.FirstMoment, h)
	before := &p.chords[len(p.chords)-2]
	half := h.Numeral.IsDominant() && h.Numeral.Degree == 5 && h.Inversion() == 0
	deceptive := before.Numeral.IsDominant() && h.Numeral.Degree == 6
	if half || deceptive {
		f.Severity = Remark // a phrase that stands alone, or a modal ending
	}
	return []Finding{f}
}

func (p *Passage) opening() []Finding {
	if p.Harmony == nil || len(p.chords) < 3 {
		return nil
	}
	h := &p.chords[0]
	if !p.trusted(h) || h.Numeral.IsTonic() || h.Numeral.IsDominant() {
		return nil
	}
	return []Finding{p.atChord(h.FirstMoment, h)}
}
