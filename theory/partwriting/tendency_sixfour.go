package partwriting

import "partwright/theory"

// The sixth and the fourth of a cadential six-four.
var cadentialSixFours = []*Rule{
	{
		ID: "cadential-six-four-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth to fifth and fourth to third, down by step in the same voices, after ornaments or not; what is struck between the beats is free, and a six-four between dominants over one bass is a neighbor chord: a caution (section 26.11)"},
		Check:  (*Passage).unresolvedCadentials,
	},
	{
		ID: "cadential-six-four-unprepared", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth and fourth come by step or stay where they are, each in one voice at least; what comes into a phrase is free"},
		Check:  (*Passage).unpreparedCadentials,
	},
}

func (p *Passage) unresolvedCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.succeeding(i)
		if !h.Numeral.Cadential || next == nil || next.Numeral.Degree != 5 || !p.bassHas(h.FirstMoment, h.Bass()) {
			return
		}
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if f, open := p.unresolvedOver(h, next, c); open {
				if s := p.placed(i); s.betweenDominants() {
					f.Severity = Caution
				}
				found = append(found, f)
			}
		}
	})
	return found
}

// unresolvedOver reports the sixth or fourth of a cadential six-four that no
// voice leads down by step into the dominant. One voice is enough, a doubling is
// then free to go elsewhere; what a voice strikes between the beats belongs to
// its ornament and owes nothing.
func (p *Passage) unresolvedOver(h, next *chord, c theory.PitchClass) (Finding, bool) {
	bass := len(p.Voices) - 1
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		for v := range bass {
			note := p.Sounding(m, v)
			if note == nil || note.Pitch.Class() != c {
				continue
			}
			if t := p.tendencyOf(NoteRef{v, p.At(m, v)}); t.next >= 0 && p.resolvesDown(t, next) {
				return Finding{}, false
			}
		}
	}
	for _, r := range p.holding(h.EndMoment-1, c) {
		t := p.tendencyOf(r)
		if r.Voice == bass || t.next < 0 || t.move == theory.Unison || p.strength(p.momentOf(r)) == 0 {
			continue
		}
		return p.atTendency(t), true
	}
	return Finding{}, false
}

func (p *Passage) unpreparedCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if !h.Numeral.Cadential || p.preceding(i) == nil || !p.bassHas(h.FirstMoment, h.Bass()) {
			return
		}
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if r, leapt := p.reachedByLeap(p.holding(h.FirstMoment, c)); leapt {
				f := p.at(h.FirstMoment, r.Voice)
				from := NoteRef{r.Voice, r.Note - 1}
				f.Notes = []NoteRef{from, r}
				f.Args = []Arg{{"from", p.Note(from).Pitch}, {"to", p.Note(r).Pitch}}
				found = append(found, f)
			}
		}
	})
	return found
}

// reachedByLeap returns the first of the notes in the upper voices if every one of
// them is reached by a leap.
func (p *Passage) reachedByLeap(notes []NoteRef) (NoteRef, bool) {
	var first *NoteRef
	for i, r := range notes {
		if r.Voice == len(p.Voices)-1 {
			continue
		}
		if r.Note == 0 || theory.Between(p.Voices[r.Voice].Notes[r.Note-1].Pitch, p.Note(r).Pitch).Number() <= 2 {
			return NoteRef{}, false
		}
		if first == nil {
			first = &notes[i]
		}
	}
	if first == nil {
		return NoteRef{}, false
	}
	return *first, true
}
