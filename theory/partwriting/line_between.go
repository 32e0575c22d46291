package partwriting

import "partwright/theory"

// Lines beside one another.
var linesTogether = []*Rule{
	{
		ID: "cross-relation", Family: Line,
		Source: Source{"Feezell, SATB part writing 7: chromatic part writing (2010)", "", "a letter in two inflections in two voices, at once or in succession, unless a voice moves chromatically itself; not between phrases nor after a beat of silence; the lowered second before the natural one is free"},
		Check:  (*Passage).falseRelations,
	},
	{
		ID: "restless-upper-voices", Family: Line,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "two upper voices leap more than a third at once while the harmony changes"},
		Check:  (*Passage).restlessVoices,
	},
}

func (p *Passage) falseRelations() []Finding {
	var found []Finding
	for m := range p.Moments {
		for v := range p.Voices {
			if p.cell(m, v).note < 0 || !p.IsStruck(m, v) {
				continue
			}
			if f, ok := p.crossRelationAt(m, v); ok {
				found = append(found, f)
			}
		}
	}
	return found
}

// crossRelationAt looks for another inflection of the note that a voice strikes,
// in another voice now or just before.
func (p *Passage) crossRelationAt(m, voice int) (Finding, bool) {
	struck := NoteRef{voice, p.At(m, voice)}
	pitch := p.Note(struck).Pitch
	for other := range p.Voices {
		if other == voice {
			continue
		}
		if p.cell(m, other).note >= 0 && inflects(p.Voices[other].Notes[p.At(m, other)].Pitch, pitch) && (other > voice || !p.IsStruck(m, other)) {
			return p.crossRelation(m, NoteRef{other, p.At(m, other)}, struck), true
		}
	}
	if m == 0 || p.phraseEnds[m-1] || p.movesChromatically(m, pitch.Step) || p.leavesNeapolitan(m, pitch) {
		return Finding{}, false
	}
	for other := range p.Voices {
		before := p.cell(m-1, other)
		if other == voice || before.note < 0 || before.note == p.cell(m, other).note {
			continue
		}
		if p.silent(p.Moments[m].Onset.In(p.resolution)-p.spans[other][before.note].end, m) {
			continue // the ear has let go of it
		}
		left := NoteRef{other, int(before.note)}
		if inflects(p.Note(left).Pitch, pitch) && !p.repeats(m, voice) {
			return p.crossRelation(m, left, struck), true
		}
	}
	return Finding{}, false
}

// leavesNeapolitan reports whether a note is the natural second degree that
// follows the lowered one of a Neapolitan chord.
func (p *Passage) leavesNeapolitan(m int, pitch theory.Pitch) bool {
	h := p.chordAt(m - 1)
	return h != nil && h.Numeral.IsNeapolitan(h.Key.Mode) && h.Root().Step == pitch.Step
}

// repeats reports whether a voice strikes again what it has just sounded: the
// inflection was there before.
func (p *Passage) repeats(m, voice int) bool {
	a, b := p.cell(m-1, voice), p.cell(m, voice)
	return a.note >= 0 && a.steps == b.steps && a.semitones == b.semitones
}

func inflects(a, b theory.Pitch) bool { return a.Step == b.Step && a.Alter != b.Alter }

// movesChromatically reports whether some voice goes from one inflection of a
// letter to another into a moment: the ear then hears the change in one voice.
func (p *Passage) movesChromatically(m int, step theory.Step) bool {
	for v := range p.Voices {
		a, b := p.Sounding(m-1, v), p.Sounding(m, v)
		if a != nil && b != nil && a.Pitch.Step == step && inflects(a.Pitch, b.Pitch) {
			return true
		}
	}
	return false
}

func (p *Passage) crossRelation(m int, first, second NoteRef) Finding {
	f := p.at(m, first.Voice, second.Voice)
	if first.Voice > second.Voice {
		f.Voices[0], f.Voices[1] = f.Voices[1], f.Voices[0]
	}
	f.Notes = []NoteRef{first, second}
	f.Args = []Arg{
		{"first", p.Note(first).Pitch}, {"first-voice", VoiceName(p.Voices[first.Voice].Name)},
		{"second", p.Note(second).Pitch}, {"second-voice", VoiceName(p.Voices[second.Voice].Name)},
	}
	return f
}

func (p *Passage) restlessVoices() []Finding {
	var found []Finding
	bass := len(p.Voices) - 1
	for m := 1; m < len(p.Moments); m++ {
		if p.phraseEnds[m-1] || p.revoiced(m-1, m) {
			continue
		}
		var leaping []NoteRef
		for v := 0; v < bass; v++ {
			a, b := p.cell(m-1, v), p.cell(m, v)
			if a.note >= 0 && b.note >= 0 && abs(int(b.steps-a.steps)) > 2 {
				leaping = append(leaping, NoteRef{v, int(b.note)})
			}
		}
		if len(leaping) > 1 {
			found = append(found, p.atNotes(m, leaping))
		}
	}
	return found
}
