package partwriting

import "partwright/theory"

// A predominant is on its way to a dominant.
var weakProgressions = []*Rule{
	{
		ID: "weak-progression", Family: Progression, Severity: Caution,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "ii or iii that goes straight to I, in root positions and inversions; free where either chord passes or the bass stays, in a chain of six-three chords, shorter than a beat, into a new phrase, and from a III with the leading tone; a remark where nobody has named the chords"},
		Check:  (*Passage).straightHome,
	},
}

func (p *Passage) straightHome() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		before := p.preceding(i)
		if before == nil || !p.trusted(before) || before.Key != h.Key || !h.Numeral.IsTonic() || h.Inversion() > 1 {
			return
		}
		n := before.Numeral
		if before.set.has(before.Key.LeadingTone()) && before.Key.Mode == theory.MinorMode {
			return // III+ is a dominant with its fifth put off
		}
		if move := p.bassMove(h.FirstMoment); move != nil && *move == theory.Unison {
			return
		}
		if n.IsApplied() || n.Alter != 0 || (n.Degree != 2 && n.Degree != 3) || n.IsDominant() {
			return
		}
		if p.shorterThanBeat(before) || p.shorterThanBeat(h) || p.embellishesTonic(i-1) || p.chainOfSixths(before, h) || p.isPassingChord(i) {
			return
		}
		f := p.atChord(h.FirstMoment, h)
		if !named(h) {
			f.Severity = Remark // iii and I6 are easily taken for each other
		}
		f.Args = append(f.Args, Arg{"before", n.Text(before.Key.Mode)})
		found = append(found, f)
	})
	return found
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
