package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// How phrases and pieces end.
var cadences = []*Rule{
	{
		ID: "cadence-missing", Family: Progression,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 10", "the phrase ends in no cadence that has a name, in the key of either chord or of the last one; what moves on under a held fermata is an afterthought; a caution where nobody has named the chord"},
		Check:  (*Passage).missingCadences,
	},
	{
		ID: "cadence-not-as-asked", Family: Progression,
		Source: Source{"Wieland, Part-writing quiz rubrics (Northern State University)", "", "silent unless the rule set says which cadences are asked for, phrase by phrase, as far as the document marks their ends"},
		Check:  (*Passage).otherCadences,
	},
	{
		ID: "final-chord", Family: Progression,
		Source: Source{"Open Music Theory v1", "chorale harmonization", "the tonic in root position; a major third in minor is welcome, an end on V or VI is only a remark"},
		Check:  (*Passage).finalChord,
	},
	{
		ID: "cadential-six-four-weak", Family: Progression,
		Source: Source{"Kelley, Grading notations for part-writing assignments", "metric place", "on a weaker beat than the dominant it delays"},
		Check:  (*Passage).weakCadentials,
	},
	{
		ID: "species-close", Family: Progression,
		Source: Source{"Open Music Theory v1", "species counterpoint", "a unison or octave, reached by step in contrary motion"},
		Check:  (*Passage).speciesClose,
	},
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

func (p *Passage) otherCadences() []Finding {
	if p.Harmony == nil || len(p.Limits.Cadences) == 0 {
		return nil
	}
	var found []Finding
	phrase := 0
	for i := range p.Harmony.Cadences {
		c := &p.Harmony.Cadences[i]
		h := &p.chords[c.Final]
		if !p.isCadence(h.EndMoment - 1) {
			continue
		}
		if phrase == len(p.Limits.Cadences) {
			break
		}
		asked := p.Limits.Cadences[phrase]
		phrase++
		if !p.trusted(h) || answers(c.Kind, asked) {
			continue
		}
		f := p.atChord(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"found", Word("cadence-" + c.Kind.String())}, Arg{"asked", Word("cadence-" + asked)})
		found = append(found, f)
	}
	return found
}

func answers(kind harmony.CadenceKind, asked string) bool {
	switch asked {
	case "-":
		return true
	case "AC":
		return kind == harmony.PerfectAuthentic || kind == harmony.ImperfectAuthentic
	}
	return kind.String() == asked
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

func (p *Passage) weakCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.succeeding(i)
		if !h.Numeral.Cadential || next == nil || p.strength(h.FirstMoment) >= p.strength(next.FirstMoment) {
			return
		}
		if s := p.placed(i); s.betweenDominants() {
			return // inside a double cadence the dominant is there already
		}
		found = append(found, p.atChord(h.FirstMoment, h))
	})
	return found
}

func (p *Passage) speciesClose() []Finding {
	last, low := len(p.Moments)-1, len(p.Voices)-1
	if low < 1 || last < 1 {
		return nil
	}
	i, both := p.dyad(last, 0, low)
	if !both {
		return nil
	}
	if i.IsPerfectOctave() {
		for k := len(p.pairs) - 1; k >= 0; k-- {
			m := &p.pairs[k]
			if m.Upper == 0 && m.Lower == low && m.To == last && m.Motion == theory.Contrary && m.UpperMove.IsStep() && m.LowerMove.IsStep() {
				return nil
			}
		}
	}
	return []Finding{p.dissonance(last, 0, low)}
}
