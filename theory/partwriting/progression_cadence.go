package partwriting

import (
	"slices"

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
		Source: Source{"Open Music Theory v1", "chorale harmonization", "the tonic in root position; a major third in minor is welcome, an end on V or VI is only a remark, a tonic that is named with a sixth, seventh or ninth a caution, as songs end (common practice, no source)"},
		Check:  (*Passage).finalChord,
	},
	{
		ID: "cadential-six-four-weak", Family: Progression,
		Source: Source{"Kelley, Grading notations for part-writing assignments", "metric place", "on a weaker beat than the dominant it delays; not where nobody has named the chord and the bass moves on before the dominant"},
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
		if !p.isCadence(h.EndMoment-1) || c.Final == len(p.chords)-1 && p.labelsEndElsewhere() {
			continue // the document marks no phrase end here, or the excerpt breaks off
		}
		if first := p.Harmony.IndexAt(p.Harmony.Phrases[c.Phrase].FirstMoment); c.Final-first < 2 {
			continue // two chords are an example, not a phrase
		}
		if k := c.Penultimate; p.delaysTonic(k) && k > 0 && closes(&p.chords[k-1], h) {
			continue
		}
		if p.heldOver(h.FirstMoment) || cadencesElsewhere(&p.chords[c.Penultimate], h) || p.closesByEar(h) || p.reheard && closes(&p.chords[c.Penultimate], h) {
			continue
		}
		found = append(found, p.atNamed(h.FirstMoment, h))
	}
	return found
}

// closesByEar reports whether what sounds before a chord is its dominant, however it was
// read: the bass stands on its fifth below its leading tone.
func (p *Passage) closesByEar(h *chord) bool {
	m := h.FirstMoment - 1
	if m < 0 || named(h) || h.inversion != 0 || p.phraseEnds[m] {
		return false
	}
	fifth := h.Root().Transpose(theory.PerfectFifth)
	return p.bassHas(m, fifth) && p.countOf(m, fifth.Transpose(theory.MajorThird)) > 0
}

// closes reports whether two chords make a cadence with a name in the key of the last
// one: authentic, plagal, deceptive, or an end on V.
func closes(before, last *chord) bool {
	switch {
	case last.degree == 5 && last.dominant && !last.applied && last.inversion == 0:
		return true
	case before.key != last.key && before.tonic != last.Root():
		return false
	case last.isTonic || before.tonic == last.Root():
		return before.hasLead || before.degree == 4
	}
	return last.degree == 6 && before.hasLead
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
	if named(h) && h.Inversion() == 0 && tonicSeventh(h.Numeral) {
		f.Severity = Caution
	}
	if half || deceptive || p.labelsEndElsewhere() || !named(h) && p.breaksOff() {
		f.Severity = Remark // a phrase that stands alone, a modal ending, or an excerpt
	}
	return []Finding{f}
}

// tonicSeventh reports whether a numeral is the tonic with a sixth, seventh or ninth that
// need not go on.
func tonicSeventh(n harmony.Numeral) bool {
	return slices.Contains(restful, n.Quality) && n.Degree == 1 && n.Alter == 0 && !n.IsApplied()
}

// restful are the qualities with which songs end.
var restful = []harmony.Quality{
	harmony.MajorSeventh, harmony.MinorSeventh, harmony.MinorMajorSeventh, harmony.MajorSixth, harmony.MinorSixth,
	harmony.MajorSixthNinth, harmony.MajorAddedNinth, harmony.MinorAddedNinth, harmony.MajorNinth, harmony.MinorNinth,
}

// shortestPiece is how many measures a piece has at least (our own measure): less is an
// example of how chords are connected.
const shortestPiece = 4

// breaksOff reports whether the music is plainly no whole piece: a few measures, one that
// ends on notes shorter than a beat, or one whose labels end more than a measure earlier or
// go on after it.
func (p *Passage) breaksOff() bool {
	if len(p.Score.Measures) < shortestPiece || p.labelsEndElsewhere() {
		return true
	}
	last := &p.Moments[len(p.Moments)-1]
	return p.Score.End().Sub(last.Onset).Less(p.Score.Measures[last.Measure].Time.Beat())
}

// labelsEndElsewhere reports whether the labels that were given end elsewhere than the
// music.
func (p *Passage) labelsEndElsewhere() bool {
	if p.Harmony == nil || len(p.Harmony.Given) == 0 {
		return false
	}
	last := &p.Harmony.Given[len(p.Harmony.Given)-1]
	measure := &p.Score.Measures[len(p.Score.Measures)-1]
	return !last.Onset.Less(p.Score.End()) || !measure.Onset.Less(last.End)
}

func (p *Passage) weakCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.succeeding(i)
		if !h.Numeral.Cadential || next == nil || p.strength(h.FirstMoment) >= p.strength(next.FirstMoment) {
			return
		}
		if i > 0 && p.chords[i-1].degree == 5 && p.chords[i-1].Bass() == h.Bass() {
			return // inside a double cadence the dominant is there already
		}
		if !named(h) && (!p.showsSixFour(h) || !p.bassHas(h.EndMoment-1, h.Bass())) {
			return // a bass that has left before the dominant comes only passed through
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
