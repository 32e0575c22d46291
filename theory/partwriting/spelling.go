package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Notes under the wrong letter or without their accidental.
var spellings = []*Rule{
	{
		ID: "leading-tone-not-raised", Family: Spelling,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "minor v to i at the end of a phrase, unless the chord was given as v"},
		Check:  (*Passage).unraisedLeads,
	},
	{
		ID: "leading-tone-misspelled", Family: Spelling,
		Source: Source{"Listening Arts, Voice-leading key for 4-part harmony", "", "a semitone below the tonic it rises to, over the fifth degree, written as the lowered tonic; where the chords were named it is reported as a misspelled member"},
		Check:  (*Passage).misspelledLeads,
	},
	{
		ID: "member-misspelled", Family: Spelling,
		Source: Source{"Listening Arts, Voice-leading key for 4-part harmony", "", "a member of the chord as it was named, under another letter"},
		Check:  (*Passage).misspelledMembers,
	},
}

func (p *Passage) unraisedLeads() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		q := h.Quality()
		if h.Key.Mode != theory.MinorMode || h.Numeral.Degree != 5 || h.Numeral.IsApplied() || (q != harmony.MinorTriad && q != harmony.MinorSeventh) {
			return
		}
		if named(h) {
			return // somebody has named the chord v, and means it
		}
		next := p.following(i)
		if !p.isLastOfRoot(i) {
			return // it is raised while the root lasts
		}
		if next == nil || next.Key != h.Key || !next.Numeral.IsTonic() || !p.isCadence(next.EndMoment-1) {
			return
		}
		m := h.EndMoment - 1
		notes := p.holding(m, h.Member(1))
		if len(notes) == 0 {
			return
		}
		f := p.atNotes(m, notes)
		f.Related = p.allAt(next.FirstMoment)
		f.Args = []Arg{{"note", h.Member(1)}, {"raised", h.Key.LeadingTone()}, {"key", h.Key}}
		found = append(found, f)
	})
	return found
}

func (p *Passage) misspelledLeads() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for v := range p.lines {
		for i := range p.lines[v] {
			move := &p.lines[v][i]
			if move.PhraseEnd || move.Interval.Steps != 0 || move.Interval.Semitones != 1 {
				continue
			}
			h, before := p.chordAt(move.Moment), p.chordAt(move.Moment-1)
			to := p.Voices[v].Notes[move.To].Pitch.Class()
			if h == nil || !p.trusted(h) || !h.Numeral.IsTonic() || h.Key.Tonic != to || (before != nil && named(before)) {
				continue
			}
			if p.countOf(move.Moment-1, h.Key.Tonic.Transpose(theory.PerfectFifth)) == 0 {
				continue
			}
			f := p.atMove(move)
			// The reader meets it at the note to write otherwise.
			from := &p.Moments[p.momentOf(f.Notes[0])]
			f.Onset, f.Measure = from.Onset, int(from.Measure)
			f.Args = []Arg{{"note", p.Note(f.Notes[0]).Pitch}, {"right", h.Key.LeadingTone()}, {"key", h.Key}}
			found = append(found, f)
		}
	}
	return found
}

func (p *Passage) misspelledMembers() []Finding {
	var found []Finding
	p.eachForeign(func(n *namedChord, m, v int) {
		ref := NoteRef{v, p.At(m, v)}
		pitch := p.Note(ref).Pitch
		member, ok := n.soundsLike(pitch.Class())
		if !ok {
			return
		}
		f := p.at(m, v)
		f.Notes = []NoteRef{ref}
		f.Args = []Arg{{"pitch", pitch}, {"member", member}, {"chord", n.text}}
		found = append(found, f)
	})
	return found
}
