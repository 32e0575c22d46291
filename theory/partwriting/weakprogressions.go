package partwriting

// A predominant is on its way to a dominant.
var weakProgressions = []*Rule{
	{
		ID: "weak-progression", Family: Progression, Severity: Caution,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "ii or iii that goes straight to I, in root positions and inversions; free as a passing or neighbor chord of the tonic, in a chain of six-three chords, shorter than a beat, and into a new phrase"},
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
		if n.IsApplied() || n.Alter != 0 || (n.Degree != 2 && n.Degree != 3) || n.IsDominant() {
			return
		}
		if p.shorterThanBeat(before) || p.shorterThanBeat(h) || p.embellishesTonic(i-1) || p.chainOfSixths(before, h) {
			return
		}
		f := p.atChord(h.FirstMoment, h)
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
