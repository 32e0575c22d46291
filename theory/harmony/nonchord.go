package harmony

import (
	"strconv"

	"partwright/theory"
)

// classifyNotes says for every note what part it plays in the harmonies that
// sound with it.
func (a *Analysis) classifyNotes() {
	for v := range a.texture.Voices {
		notes := a.texture.Voices[v].Notes
		at := 0
		for n := range notes {
			a.texture.Score.Work.Step(1)
			for at < len(a.Harmonies) && !notes[n].Onset.Less(a.Harmonies[at].End) {
				at++
			}
			a.Notes[v][n] = a.readNote(v, n, at)
		}
	}
	a.findChangingTones()
}

// readNote classifies one note; at is the first harmony that ends after its
// onset.
func (a *Analysis) readNote(v, n, at int) NoteReading {
	note := &a.texture.Voices[v].Notes[n]
	class := note.Pitch.Class()
	r := NoteReading{Class: Unread, Harmony: -1, Member: -1}
	foreign, after := -1, false
	for h := at; h < len(a.Harmonies) && a.Harmonies[h].Onset.Less(note.End()); h++ {
		a.texture.Score.Work.Step(1)
		member := a.Harmonies[h].MemberOf(class)
		switch {
		case r.Harmony < 0:
			r.Class, r.Harmony, r.Member = ChordTone, h, int8(member)
			if member < 0 {
				foreign = h
			}
		case foreign < 0 && member < 0:
			foreign = h
		case foreign >= 0 && member >= 0:
			after = true // a chord tone again before it ends
		}
	}
	if foreign < 0 {
		return r
	}
	begins := r.Harmony == foreign
	r.Harmony = foreign
	if begins {
		r.Class = a.struckForeign(v, n, after)
	} else {
		r.Class = a.heldForeign(v, n, after)
	}
	onset := note.Onset
	if !begins {
		onset = a.Harmonies[foreign].Onset
	}
	r.Accented = a.accented(v, n, onset)
	if r.Class == IncompleteNeighbor && r.Accented {
		r.Class = Appoggiatura
	}
	if r.Class == Suspension || r.Class == Retardation {
		r.Figures = a.suspensionFigures(v, n, onset, r.Class)
	}
	return r
}

// struckForeign classifies a note that is foreign to the harmony it begins in.
func (a *Analysis) struckForeign(v, n int, chordToneLater bool) NoteClass {
	in, out := movesAt(a.texture.Voices[v].Notes, n)
	if chordToneLater && in != overRest {
		return Anticipation
	}
	return foreignNotes[in][out].class
}

// heldForeign classifies a chord tone that stays into a harmony it is foreign to.
func (a *Analysis) heldForeign(v, n int, chordToneLater bool) NoteClass {
	if chordToneLater {
		return PedalTone
	}
	_, out := movesAt(a.texture.Voices[v].Notes, n)
	return foreignNotes[onOnePitch][out].class
}

// accented compares the metrical place of a foreign note with that of what it
// goes to.
func (a *Analysis) accented(v, n int, onset theory.Fraction) bool {
	notes := a.texture.Voices[v].Notes
	if n+1 >= len(notes) {
		return false
	}
	return strengthAt(a.texture.Score, onset) >= strengthAt(a.texture.Score, notes[n+1].Onset)
}

// strengthAt is the metrical strength of an onset; below the beat, halves of a
// beat are stronger than quarters.
func strengthAt(s *theory.Score, onset theory.Fraction) int {
	m := s.MeasureAt(onset)
	offset := onset.Sub(m.Onset).Add(m.Into)
	if level := m.Time.Strength(offset); level > 0 {
		return level
	}
	return -int(offset.Div(m.Time.Beat()).Den())
}

// suspensionFigures writes a suspension as figured bass does: the numbers above
// the bass where it is foreign and where it has moved; "" for a bass that waits and rises.
func (a *Analysis) suspensionFigures(v, n int, onset theory.Fraction, class NoteClass) string {
	notes := a.texture.Voices[v].Notes
	first := a.numberAboveBass(v, notes[n].Pitch, onset)
	second := a.numberAboveBass(v, notes[n+1].Pitch, notes[n+1].Onset)
	switch {
	case first == 1 && class == Retardation: // a bass that rises has no figures of its own
		return ""
	case first == 1: // the bass itself waits
		return "2-3"
	case first == 2 && second == 1:
		return "9-8"
	case second == 1:
		second = 8
	}
	return strconv.Itoa(first) + "-" + strconv.Itoa(second)
}

// numberAboveBass is the simple number of the interval above the lowest note.
func (a *Analysis) numberAboveBass(v int, p theory.Pitch, onset theory.Fraction) int {
	lowest := p
	for other := range a.texture.Voices {
		if i, _ := noteAt(a.texture.Voices[other].Notes, onset); i >= 0 && other != v {
			if q := a.texture.Voices[other].Notes[i].Pitch; lowest.Above(q) {
				lowest = q
			}
		}
	}
	return theory.Between(lowest, p).Simple().Steps + 1
}

// findChangingTones joins an escape tone and the note after it that circle the
// note on both sides of them.
func (a *Analysis) findChangingTones() {
	for v := range a.Notes {
		notes := a.texture.Voices[v].Notes
		for n := 1; n+2 < len(notes); n++ {
			one, two := &a.Notes[v][n], &a.Notes[v][n+1]
			foreign := one.Class > ChordTone && one.Class < Unread && two.Class > ChordTone && two.Class < Unread
			if !foreign || notes[n-1].Pitch != notes[n+2].Pitch {
				continue
			}
			in, across, reached, left := approach(notes, n)
			_, out, _, goes := approach(notes, n+1)
			if reached && left && goes && isStep(in) && across == -2*in && out == in {
				one.Class, two.Class = ChangingTone, ChangingTone
			}
		}
	}
}
