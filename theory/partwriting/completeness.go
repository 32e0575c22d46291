package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Members that a chord lacks.
var omissions = []*Rule{
	{
		ID: "third-missing", Family: ChordTones, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "nowhere while the harmony lasts, suspended or not"},
		Check: func(p *Passage) []Finding {
			return p.lacking(1, func(i int, h *chord) bool { return true })
		},
	},
	{
		ID: "root-missing", Family: ChordTones, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "a chord on the leading tone is no rootless dominant"},
		Check: func(p *Passage) []Finding {
			return p.lacking(0, func(i int, h *chord) bool { return true })
		},
	},
	{
		ID: "fifth-missing", Family: ChordTones, Severity: Caution,
		Source: Source{"College Board, AP Music Theory scoring guidelines 2015, question 6", "", "the fifth may go from root-position triads and sevenths; every inverted chord is complete"},
		Check: func(p *Passage) []Finding {
			return p.lacking(2, func(i int, h *chord) bool { return h.Inversion() != 0 })
		},
	},
	{
		ID: "seventh-missing", Family: ChordTones, Severity: Fault,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "only where the chord was given as a seventh chord"},
		Check: func(p *Passage) []Finding {
			return p.lacking(3, func(i int, h *chord) bool { return h.Confidence == 1 })
		},
	},
	{
		ID: "diminished-triad-root-position", Family: ChordTones, Severity: Caution,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "free on the way to V6/5, in a sequence, and after its own first inversion"},
		Check:  (*Passage).rootPositionDiminished,
	},
}

// lacking reports harmonies in which a member is not heard at any time.
func (p *Passage) lacking(member int, applies func(i int, h *chord) bool) []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if member >= h.Size() || p.soundsWhileRootLasts(i, h.Member(member)) || !applies(i, h) {
			return
		}
		if h.Quality().IsAugmentedSixth() || p.sounding(h.FirstMoment) < 4 || p.shorterThanBeat(h) {
			return
		}
		f := p.atChord(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"note", h.Member(member)})
		found = append(found, f)
	})
	return found
}

// soundsWhileRootLasts looks at the neighbors on the same root as well: a third
// that is suspended may come with the seventh.
func (p *Passage) soundsWhileRootLasts(i int, c theory.PitchClass) bool {
	all := p.chords
	first, last := i, i
	for first > 0 && all[first-1].Root() == all[i].Root() {
		first--
	}
	for last+1 < len(all) && all[last+1].Root() == all[i].Root() {
		last++
	}
	for j := first; j <= last; j++ {
		if p.soundsIn(&all[j], c) {
			return true
		}
	}
	return false
}

func (p *Passage) shorterThanBeat(h *chord) bool {
	return h.End.Sub(h.Onset).Less(p.Score.Measures[h.Measure].Time.Beat())
}

func (p *Passage) rootPositionDiminished() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if h.Quality() != harmony.DiminishedTriad || h.Inversion() != 0 || p.shorterThanBeat(h) {
			return
		}
		next, before := p.following(i), p.preceding(i)
		if next != nil && next.Numeral.IsDominant() && h.Numeral.IsDominant() {
			return
		}
		if before != nil && (before.Root() == h.Root() || isFifthBelow(h.Root(), before.Root())) {
			return
		}
		found = append(found, p.atChord(h.FirstMoment, h))
	})
	return found
}

// isFifthBelow reports whether a root lies a fifth below another by letter.
func isFifthBelow(low, high theory.PitchClass) bool {
	return (int(high.Step)-int(low.Step)+7)%7 == 4
}
