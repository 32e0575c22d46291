package partwriting

import (
	"partwright/theory"
)

// The four uses of a six-four chord, after Hutchinson, section 26.11.
var sixFours = []*Rule{
	{
		ID: "six-four-misused", Family: Progression, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.11", "cadential, passing, pedal or arpeggiated; any other is a fault"},
		Check:  (*Passage).misusedSixFours,
	},
	{
		ID: "cadential-six-four-unresolved", Family: Tendency, Severity: Fault,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth to fifth and fourth to third, down by step in the same voices"},
		Check:  (*Passage).unresolvedCadentials,
	},
}

type sixFour int8

const (
	otherSixFour sixFour = iota
	cadentialSixFour
	passingSixFour
	pedalSixFour
	arpeggiatedSixFour
)

// sixFourAt tells what a second-inversion triad does, by its bass.
func (p *Passage) sixFourAt(i int) sixFour {
	all := p.chords
	h := &all[i]
	if h.Numeral.Cadential {
		return cadentialSixFour
	}
	before, after := p.bassMove(h.FirstMoment), p.bassMove(h.EndMoment)
	switch {
	case before == nil || after == nil:
		return arpeggiatedSixFour // at the edge of a phrase there is nothing to judge by
	case before.IsStep() && after.IsStep():
		return passingSixFour
	case before.IsPerfectOctave() && after.IsPerfectOctave():
		return pedalSixFour
	case (i > 0 && all[i-1].Root() == h.Root()) || (i+1 < len(all) && all[i+1].Root() == h.Root()):
		return arpeggiatedSixFour
	case h.Root() == h.Key.Tonic && i+1 < len(all) && all[i+1].Numeral.Degree == 5:
		return cadentialSixFour
	case before.IsPerfectOctave() && after.IsStep(), before.IsStep() && after.IsPerfectOctave():
		return passingSixFour
	}
	return otherSixFour
}

// bassMove returns how the bass moves into a moment within a phrase, nil where
// that is not to be told.
func (p *Passage) bassMove(m int) *theory.Interval {
	bass := len(p.Voices) - 1
	if m == 0 || m >= len(p.Moments) || p.phraseEnds[m-1] {
		return nil
	}
	a, b := p.cell(m-1, bass), p.cell(m, bass)
	if a.note < 0 || b.note < 0 {
		return nil
	}
	move := between(a, b)
	return &move
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

func (p *Passage) unresolvedCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		all := p.chords
		if !h.Numeral.Cadential || i+1 >= len(all) || all[i+1].Numeral.Degree != 5 {
			return
		}
		next := &all[i+1]
		bass := len(p.Voices) - 1
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if p.resolvedByAny(h, next, c, bass) {
				continue
			}
			for _, r := range p.holding(h.EndMoment-1, c) {
				t := p.tendencyOf(r)
				if r.Voice == bass || t.next < 0 || p.resolvesDown(t, next) || t.move == theory.Unison || p.touched(t) {
					continue
				}
				found = append(found, p.atTendency(t))
				break
			}
		}
	})
	return found
}

// resolvedByAny reports whether one of the voices with a note steps down: a
// doubling is then free to go elsewhere.
func (p *Passage) resolvedByAny(h, next *chord, c theory.PitchClass, bass int) bool {
	for _, r := range p.holding(h.EndMoment-1, c) {
		t := p.tendencyOf(r)
		if r.Voice != bass && t.next >= 0 && p.resolvesDown(t, next) {
			return true
		}
	}
	return false
}

func (p *Passage) tendencyOf(r NoteRef) tendencyNote {
	t := tendencyNote{ref: r, next: -1}
	notes := p.Voices[r.Voice].Notes
	if n := r.Note + 1; n < len(notes) && !p.endsPhrase(p.MomentOf(r), p.MomentOf(NoteRef{r.Voice, n})) {
		t.next, t.move = n, theory.Between(notes[r.Note].Pitch, notes[n].Pitch)
	}
	return t
}
