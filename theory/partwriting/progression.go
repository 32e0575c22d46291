package partwriting

import "partwright/theory"

// Harmony in time: how chords follow one another, and how a piece begins.
var progressions = []*Rule{
	{
		ID: "retrogression", Family: Progression,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "a dominant followed by ii or IV; not as a passing or neighbor chord, nor into a new phrase, nor IV6 where the bass goes on by step as to vi (common practice), nor a six-four that puts off a triad on its bass or suspensions over the tonic; a caution where nobody has named the chords"},
		Check:  (*Passage).retrogressions,
	},
	{
		ID: "harmony-held-into-strong-beat", Family: Progression,
		Source: Source{"San Francisco Conservatory, Table of Standard Errors", "", "struck again across the bar line over the same bass; free at the opening and where a note is suspended"},
		Check:  (*Passage).heldIntoStrongBeats,
	},
	{
		ID: "weak-progression", Family: Progression,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "ii or iii that goes straight to I, in root positions and inversions; free where either chord passes or the bass stays, in a chain of six-three chords, shorter than a beat, into a new phrase, and from a III with the leading tone; a remark where nobody has named the chords"},
		Check:  (*Passage).straightHome,
	},
	{
		ID: "six-four-misused", Family: Progression,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.11", "cadential, passing, pedal or arpeggiated; any other is a fault"},
		Check:  (*Passage).misusedSixFours,
	},
	{
		ID: "opening", Family: Progression,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 11", "the tonic, or a dominant that leads to it"},
		Check:  (*Passage).opening,
	},
	{
		ID: "species-opening", Family: Progression,
		Source: Source{"Open Music Theory v1", "species counterpoint", "a unison, fifth or octave"},
		Check:  (*Passage).speciesOpening,
	},
}

func (p *Passage) retrogressions() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		before := p.preceding(i)
		if before == nil || !p.trusted(before) || !goesBack(before, h) {
			return
		}
		if p.shorterThanBeat(h) || p.isPassingChord(i) || p.putsOff(i) || p.delaysTonic(i) || p.standsForSixth(i, h) {
			return
		}
		f := p.atNamed(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"before", before.Numeral.Text(before.Key.Mode)})
		found = append(found, f)
	})
	return append(found, p.retrogressionsOverJumps()...)
}

// goesBack reports whether a dominant is followed by ii or IV of its key.
func goesBack(before, h *chord) bool {
	if before.Key != h.Key || h.Numeral.IsApplied() || before.Numeral.IsApplied() || h.Numeral.Alter != 0 {
		return false
	}
	return (h.Numeral.Degree == 2 || h.Numeral.Degree == 4) && (before.Numeral.IsDominant() || before.Numeral.Cadential)
}

// retrogressionsOverJumps looks for dominants that a jump sends back to ii or IV.
func (p *Passage) retrogressionsOverJumps() []Finding {
	var found []Finding
	for _, j := range p.Joins() {
		h, next := p.chordAt(j.From), p.chordAt(j.To)
		if j.To == j.From+1 || p.endsAtSign(j.From) || p.part && !p.holdsJoin(j) || h == nil || next == nil {
			continue
		}
		i := p.Harmony.IndexAt(next.FirstMoment)
		if !p.trusted(h) || !p.trusted(next) || !goesBack(h, next) || p.shorterThanBeat(next) || p.putsOff(i) || p.delaysTonic(i) {
			continue
		}
		f := p.atNamed(j.To, next)
		f.Args = append(f.Args, Arg{"before", h.Numeral.Text(h.Key.Mode)})
		f.Onset, f.Measure = p.Moments[j.From].Onset, int(p.Moments[j.From].Measure)
		found = append(found, f)
	}
	return found
}

// delaysTonic reports whether a chord that nobody has named stands on the tonic, which
// follows over the same bass: its other notes are suspended, plainly or with ornaments,
// and the tonic is there already.
func (p *Passage) delaysTonic(i int) bool {
	if i+1 >= len(p.chords) {
		return false
	}
	h, next := &p.chords[i], &p.chords[i+1]
	if named(h) || !next.Numeral.IsTonic() || next.inversion != 0 || next.Key != h.Key || next.FirstMoment != h.EndMoment {
		return false
	}
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		if !p.bassHas(m, next.Root()) {
			return false
		}
	}
	return !p.endsPhrase(h.FirstMoment, next.FirstMoment)
}

// standsForSixth reports whether a chord is IV6 on a bass that comes by step: after V
// it is as good as vi, which shares two notes and the bass with it.
func (p *Passage) standsForSixth(i int, h *chord) bool {
	into := p.bassMove(h.FirstMoment)
	return h.degree == 4 && h.inversion == 1 && into != nil && into.IsStep()
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

func (p *Passage) straightHome() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		before := p.preceding(i)
		if before == nil || !p.trusted(before) || !skipsDominant(before, h) || p.isOnTheWay(i, before, h) {
			return
		}
		f := p.atChord(h.FirstMoment, h)
		if !named(h) {
			f.Severity = Remark // iii and I6 are easily taken for each other
		}
		f.Args = append(f.Args, Arg{"before", before.Numeral.Text(before.Key.Mode)})
		found = append(found, f)
	})
	return found
}

// skipsDominant reports whether ii or iii goes to the tonic of its key.
func skipsDominant(before, h *chord) bool {
	n := before.Numeral
	if before.Key != h.Key || !h.Numeral.IsTonic() || h.Inversion() > 1 {
		return false
	}
	if before.Key.Mode == theory.MinorMode && before.set.has(before.Key.LeadingTone()) {
		return false // III+ is a dominant with its fifth put off
	}
	return (n.Degree == 2 || n.Degree == 3) && n.Alter == 0 && !n.IsApplied() && !n.IsDominant()
}

// isOnTheWay reports whether chord i and the one before it are no step of the
// harmony: over a bass that stays, shorter than a beat, or on the way from one
// chord to another.
func (p *Passage) isOnTheWay(i int, before, h *chord) bool {
	if move := p.bassMove(h.FirstMoment); move != nil && *move == theory.Unison {
		return true
	}
	return p.shorterThanBeat(before) || p.shorterThanBeat(h) || p.embellishesTonic(i-1) || p.chainOfSixths(before, h) || p.isPassingChord(i)
}

// chainOfSixths reports whether two chords of the sixth follow each other over a
// bass that steps: what counts in a chain of them is where it ends.
func (p *Passage) chainOfSixths(before, h *chord) bool {
	move := p.bassMove(h.FirstMoment)
	return before.Inversion() == 1 && h.Inversion() == 1 && move != nil && move.IsStep()
}

// embellishesTonic reports whether a chord comes from the tonic as well, over a
// bass that passes by step or stays: then it only extends the tonic.
func (p *Passage) embellishesTonic(i int) bool {
	before := p.preceding(i)
	if before == nil || before.Key != p.chords[i].Key || !before.Numeral.IsTonic() {
		return false
	}
	into, out := p.bassMove(p.chords[i].FirstMoment), p.bassMove(p.chords[i].EndMoment)
	return into != nil && out != nil && into.Abs().Number() <= 2 && out.Abs().Number() <= 2
}

func (p *Passage) misusedSixFours() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 2 || p.shorterThanBeat(h) || !p.bassHas(h.FirstMoment, h.Bass()) {
			return
		}
		if p.sixFourAt(i) == otherSixFour {
			found = append(found, p.atChord(h.FirstMoment, h))
		}
	})
	return found
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

func (p *Passage) speciesOpening() []Finding {
	if len(p.Voices) < 2 {
		return nil
	}
	for m := range p.Moments {
		i, both := p.dyad(m, 0, len(p.Voices)-1)
		if !both {
			continue
		}
		if i.IsPerfectFifth() || i.IsPerfectOctave() {
			return nil
		}
		return []Finding{p.dissonance(m, 0, len(p.Voices)-1)}
	}
	return nil
}
