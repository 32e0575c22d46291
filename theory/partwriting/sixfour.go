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
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth to fifth and fourth to third, down by step in the same voices, after ornaments or not; what is struck between the beats is free, and a six-four between dominants over one bass is a neighbor chord: a caution (section 26.11)"},
		Check:  (*Passage).unresolvedCadentials,
	},
	{
		ID: "cadential-six-four-unprepared", Family: Tendency, Severity: Caution,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth and fourth come by step or stay where they are, each in one voice at least; what comes into a phrase is free"},
		Check:  (*Passage).unpreparedCadentials,
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
		next := p.succeeding(i)
		if !h.Numeral.Cadential || next == nil || next.Numeral.Degree != 5 || !p.bassHas(h.FirstMoment, h.Bass()) {
			return
		}
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if f, open := p.unresolvedOver(h, next, c); open {
				if p.betweenDominants(i) {
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
		if r.Voice == bass || t.next < 0 || t.move == theory.Unison || p.strength(p.MomentOf(r)) == 0 {
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

// betweenDominants reports whether a dominant over the same bass came just
// before: the six-four is then the neighbor of a dominant that was there already.
func (p *Passage) betweenDominants(i int) bool {
	before := p.preceding(i)
	return before != nil && before.Numeral.Degree == 5 && before.Bass() == p.chords[i].Bass()
}

func (p *Passage) tendencyOf(r NoteRef) tendencyNote {
	t := tendencyNote{ref: r, next: -1}
	notes := p.Voices[r.Voice].Notes
	if n := r.Note + 1; n < len(notes) && !p.endsPhrase(p.MomentOf(r), p.MomentOf(NoteRef{r.Voice, n})) {
		t.next, t.move = n, theory.Between(notes[r.Note].Pitch, notes[n].Pitch)
	}
	return t
}
