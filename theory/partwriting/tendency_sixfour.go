package partwriting

import "partwright/theory"

// The sixth and the fourth of a cadential six-four.
var cadentialSixFours = []*Rule{
	{
		ID: "cadential-six-four-unresolved", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth to fifth and fourth to third, down by step in the same voices, after ornaments or not; what is struck between the beats is free, and so is the sixth that rises to the seventh of V7 (Rimsky-Korsakov, Practical Manual of Harmony, has it so); a caution where nobody has named the chord and another voice takes the note of resolution at its pitch; a six-four between dominants over one bass is a neighbor chord (section 26.11): a caution, and nothing where nobody has named it"},
		Check:  (*Passage).unresolvedCadentials,
	},
	{
		ID: "cadential-six-four-unprepared", Family: Tendency,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 27.3", "sixth and fourth come by step, after an ornament or not, or stay where they are, each in one voice at least; what comes into a phrase is free, and after the tonic itself, between dominants and in doubt where nobody has named the chord"},
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
		s := p.placed(i)
		between := s.betweenDominants()
		if !named(h) && (between || !p.showsSixFour(h)) {
			return // a neighbor chord, or none
		}
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if f, open := p.unresolvedOver(h, next, c); open {
				if between || !named(h) && p.takenOver(f.Notes[0], next) {
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
			t := p.pastRepeats(p.tendencyOf(NoteRef{v, p.At(m, v)}))
			if t.next >= 0 && (p.resolvesDown(t, next) || p.risesToSeventh(t, next)) {
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

// pastRepeats looks past notes at the same pitch to where a voice goes from them: what is
// struck again over the next chord is suspended there.
func (p *Passage) pastRepeats(t tendencyNote) tendencyNote {
	notes := p.Voices[t.ref.Voice].Notes
	for t.next >= 0 && t.move == theory.Unison {
		n := t.next + 1
		if n >= len(notes) || p.endsPhrase(p.momentOf(NoteRef{t.ref.Voice, t.next}), p.momentOf(NoteRef{t.ref.Voice, n})) {
			t.next = -1
			break
		}
		t.next, t.move = n, theory.Between(notes[t.ref.Note].Pitch, notes[n].Pitch)
	}
	return t
}

// showsSixFour reports whether a chord stands on its bass, with nothing below it and
// nothing foreign to it, when it begins.
func (p *Passage) showsSixFour(h *chord) bool {
	m := h.FirstMoment
	return p.spellings[m]&^h.set == 0 && p.bassHas(m, h.Bass()) && p.lowestAt(m) == len(p.Voices)-1
}

// risesToSeventh reports whether a voice steps up to the seventh of the next chord.
func (p *Passage) risesToSeventh(t tendencyNote, next *chord) bool {
	return t.move.Steps == 1 && next.hasSeventh && p.Voices[t.ref.Voice].Notes[t.next].Pitch.Class() == next.seventh
}

// takenOver reports whether another voice strikes the note a step below a note, at its
// pitch, when the next chord begins.
func (p *Passage) takenOver(r NoteRef, next *chord) bool {
	from := p.Note(r).Pitch
	for v := range p.Voices {
		note := p.Sounding(next.FirstMoment, v)
		if v != r.Voice && note != nil && theory.Between(from, note.Pitch).Steps == -1 {
			return true
		}
	}
	return false
}

func (p *Passage) unpreparedCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		before := p.preceding(i)
		if !h.Numeral.Cadential || before == nil || !p.bassHas(h.FirstMoment, h.Bass()) {
			return
		}
		if !named(h) && (before.Root() == h.Root() || before.degree == 5 && before.Bass() == h.Bass() || !p.showsSixFour(h)) {
			return // the chord only changes its position, is a neighbor, or none
		}
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(1)} {
			if r, leapt := p.reachedByLeap(h.FirstMoment, p.holding(h.FirstMoment, c)); leapt {
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

// reachedByLeap returns the first of the notes in the upper voices that sound at a
// moment if every one of them is reached by a leap.
func (p *Passage) reachedByLeap(m int, notes []NoteRef) (NoteRef, bool) {
	var first *NoteRef
	for i, r := range notes {
		if r.Voice == len(p.Voices)-1 {
			continue
		}
		if r.Note == 0 || p.momentOf(r) < m || p.comesByStep(r) {
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

// comesByStep reports whether a note comes from the one before or, where that is an
// ornament shorter than a beat, from the one before the ornament, by step or in place.
func (p *Passage) comesByStep(r NoteRef) bool {
	notes := p.Voices[r.Voice].Notes
	beat := p.Score.Measures[p.Moments[p.momentOf(r)].Measure].Time.Beat()
	for n := r.Note - 1; n >= 0; n-- {
		if theory.Between(notes[n].Pitch, notes[r.Note].Pitch).Number() <= 2 {
			return true
		}
		if n < r.Note-1 || !notes[n].Duration.Less(beat) {
			return false
		}
	}
	return false
}
