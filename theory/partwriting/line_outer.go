package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// The outer voices as lines: a tune above, a bass that gives it ground to stand on.
var outerLines = []*Rule{
	{
		ID: "static-soprano", Family: Line,
		Source: Source{"Common practice, no source", "", "one pitch on top over three harmonies or more, where the root changes"},
		Check:  (*Passage).staticSopranos,
	},
	{
		ID: "soprano-turns-back", Family: Line,
		Source: Source{"Common practice, no source", "", "from one note to another and back, and the same again, in notes that begin on beats"},
		Check:  (*Passage).turningSopranos,
	},
	{
		ID: "narrow-bass", Family: Line,
		Source: Source{"Common practice, no source", "", "a phrase of six roots or more within a fourth; a single pitch throughout is a pedal"},
		Check:  (*Passage).narrowBasses,
	},
	{
		ID: "bass-held-into-strong-beat", Family: Line,
		Source: Source{"San Francisco Conservatory, Table of Standard Errors", "", "one pitch struck on a weak beat and again on the downbeat under another chord; free at the opening, under a suspension, as the bass of a six-four and as the seventh of the new chord"},
		Check:  (*Passage).heldBasses,
	},
}

// longestStand is how many roots may pass under one pitch of the soprano.
const longestStand = 2

func (p *Passage) staticSopranos() []Finding {
	var found []Finding
	if p.Harmony == nil || len(p.Voices) == 0 {
		return nil
	}
	last, count, start := theory.Pitch{}, 0, 0
	all := p.chords
	for i := range all {
		m := all[i].FirstMoment
		if m >= len(p.Moments) {
			break
		}
		note := p.Sounding(m, 0)
		if i > 0 && all[i-1].Root() == all[i].Root() && count > 0 && note != nil && note.Pitch == last {
			continue
		}
		joined := i > 0 && !p.endsPhrase(all[i-1].FirstMoment, m)
		if note != nil && count > 0 && joined && note.Pitch == last {
			count++
		} else {
			count, start = 1, m
		}
		if note == nil {
			count = 0
			continue
		}
		last = note.Pitch
		if count == longestStand+1 {
			f := p.at(start, 0)
			f.Notes = []NoteRef{{0, p.At(start, 0)}}
			f.Args = []Arg{{"pitch", last}}
			found = append(found, f)
		}
	}
	return found
}

func (p *Passage) turningSopranos() []Finding {
	var found []Finding
	if len(p.Voices) == 0 {
		return nil
	}
	line := p.lines[0]
	for i := 0; i+3 < len(line); i++ {
		if !p.goesBackAndForth(line[i : i+4]) {
			continue
		}
		f := p.at(line[i].Moment, 0)
		for n := line[i].From; n <= line[i+3].To; n++ {
			f.Notes = append(f.Notes, NoteRef{0, n})
		}
		f.Args = []Arg{{"from", p.Note(f.Notes[0]).Pitch}, {"to", p.Note(f.Notes[1]).Pitch}}
		found = append(found, f)
		i += 3
	}
	return found
}

// goesBackAndForth reports whether four moves lead to a note and back twice, all
// of them on beats.
func (p *Passage) goesBackAndForth(moves []melodicMove) bool {
	if moves[0].Interval == theory.Unison || p.strength(p.momentOf(NoteRef{moves[0].Voice, moves[0].From})) == 0 {
		return false
	}
	for i := range moves {
		m := &moves[i]
		if m.PhraseEnd || p.strength(m.Moment) == 0 || (i > 0 && (m.From != moves[i-1].To || m.Interval != moves[i-1].Interval.Invert())) {
			return false
		}
	}
	return true
}

// narrowest is how far the bass of a phrase may stay from itself, in steps, and
// busyPhrase how many roots make a phrase long enough to judge.
const (
	narrowest  = 3
	busyPhrase = 6
)

func (p *Passage) narrowBasses() []Finding {
	if p.Harmony == nil || len(p.Voices) < 2 {
		return nil
	}
	var found []Finding
	bass := len(p.Voices) - 1
	for i := 0; i < len(p.chords); {
		first, roots := i, 1
		for i++; i < len(p.chords) && !p.endsPhrase(p.chords[i-1].FirstMoment, p.chords[i].FirstMoment); i++ {
			if p.chords[i].Root() != p.chords[i-1].Root() {
				roots++
			}
		}
		notes, span := p.compassOf(bass, p.chords[first].FirstMoment, p.chords[i-1].EndMoment)
		if roots < busyPhrase || span == 0 || span > narrowest {
			continue
		}
		f := p.at(p.chords[first].FirstMoment, bass)
		f.Notes = notes
		found = append(found, f)
	}
	return found
}

// compassOf returns the notes that a voice strikes between two moments, and how
// far apart the highest and the lowest are, in steps.
func (p *Passage) compassOf(voice, from, to int) (notes []NoteRef, steps int) {
	low, high := int16(0), int16(0)
	for m := from; m < to && m < len(p.Moments); m++ {
		c := p.cell(m, voice)
		if c.note < 0 || !p.IsStruck(m, voice) {
			continue
		}
		if len(notes) == 0 {
			low, high = c.steps, c.steps
		}
		low, high = min(low, c.steps), max(high, c.steps)
		notes = append(notes, NoteRef{voice, int(c.note)})
	}
	return notes, int(high - low)
}

// heldBasses reports basses that are struck on a weak beat and again on the
// downbeat, while the chord above them changes; where it does not, that is reported as
// a harmony held into the downbeat.
func (p *Passage) heldBasses() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	bass := len(p.Voices) - 1
	for i := range p.lines[bass] {
		move := &p.lines[bass][i]
		m := move.Moment
		if move.PhraseEnd || move.Interval != theory.Unison || p.strength(m) < 3 {
			continue
		}
		first := p.momentOf(NoteRef{bass, move.From})
		before, h := p.chordAt(m-1), p.chordAt(m)
		if p.strength(first) >= 2 || before == nil || h == nil || !p.trusted(before) || !p.trusted(h) {
			continue
		}
		if before.Reading == h.Reading || p.opensPhrase(first) || p.bassIsHeldFor(m, h) {
			continue
		}
		f := p.atMove(move)
		f.Args = []Arg{{"pitch", p.Note(f.Notes[1]).Pitch}}
		found = append(found, f)
	}
	return found
}

// opensPhrase reports whether a moment lies in the upbeat of its phrase: before the
// first downbeat in it.
func (p *Passage) opensPhrase(m int) bool {
	for ; p.strength(m) < 3; m-- {
		if m == 0 || p.phraseEnds[m-1] {
			return true
		}
	}
	return false
}

// bassIsHeldFor reports whether a chord asks for the bass that was there: a
// six-four, a chord on its seventh, a suspension or a pedal.
func (p *Passage) bassIsHeldFor(m int, h *chord) bool {
	if h.Numeral.Cadential || h.Inversion() >= 2 {
		return true
	}
	for v := range p.Voices {
		n := p.At(m, v)
		if n < 0 {
			continue
		}
		switch p.Harmony.Notes[v][n].Class {
		case harmony.Suspension, harmony.Retardation, harmony.PedalTone, harmony.Appoggiatura:
			return true
		}
	}
	return false
}
