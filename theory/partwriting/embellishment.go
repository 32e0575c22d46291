package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Nonchord tones, and the dissonances that a species of counterpoint allows.
var embellishments = []*Rule{
	{
		ID: "nonchord-tone-unexplained", Family: Embellishment,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 10", "neither approached nor left as any figure with a name; suspensions with an ornament have one; where the chord was named it is reported as a note outside it"},
		Check:  (*Passage).unexplainedTones,
	},
	{
		ID: "suspension-note-anticipated", Family: Embellishment,
		Source: Source{"Open Music Theory v1", "species counterpoint, fourth species", "the note of resolution sounds in another upper voice meanwhile; free in a 9-8"},
		Check:  (*Passage).anticipatedResolutions,
	},
	{
		ID: "species-dissonance", Family: Embellishment,
		Source: Source{"Open Music Theory v1", "species counterpoint", "none in the first species; passing between the downbeats in the second; neighbors too in the third; suspensions in the fourth; all of them in the fifth"},
		Check:  (*Passage).speciesDissonances,
	},
}

func (p *Passage) unexplainedTones() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for v := range p.Voices {
		for n := range p.Voices[v].Notes {
			reading := &p.Harmony.Notes[v][n]
			if reading.Class != harmony.OtherNonchord || reading.Harmony < 0 || !p.trusted(&p.chords[reading.Harmony]) || named(&p.chords[reading.Harmony]) {
				continue
			}
			h := &p.chords[reading.Harmony]
			if !h.sounds || p.near != nil && !p.near[reading.Harmony] || p.reheard && h.set.has(p.Voices[v].Notes[n].Pitch.Class()) || p.putOff(NoteRef{v, n}, h) {
				continue
			}
			f := p.at(p.momentOf(NoteRef{v, n}), v)
			f.Notes = []NoteRef{{v, n}}
			f.Args = []Arg{{"pitch", p.Voices[v].Notes[n].Pitch}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	}
	return found
}

// putOff reports whether a note that stays from before, held or struck again, comes
// down by step after one or two more notes: a suspension with an ornament, such as F,
// D, E over the tonic (Open Music Theory v1, fourth species, has them decorated).
func (p *Passage) putOff(r NoteRef, h *chord) bool {
	notes := p.Voices[r.Voice].Notes
	held := p.momentOf(r) < h.FirstMoment
	if !held && (r.Note == 0 || notes[r.Note-1].Pitch != notes[r.Note].Pitch) {
		return false
	}
	for n := r.Note + 1; n < min(len(notes), r.Note+4); n++ {
		if p.endsPhrase(p.momentOf(r), p.momentOf(NoteRef{r.Voice, n})) {
			return false
		}
		if theory.Between(notes[r.Note].Pitch, notes[n].Pitch).Steps == -1 {
			return true
		}
	}
	return false
}

func (p *Passage) anticipatedResolutions() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for v := 0; v+1 < len(p.Voices); v++ {
		notes := p.Voices[v].Notes
		for n := 0; n+1 < len(notes); n++ {
			reading := &p.Harmony.Notes[v][n]
			if reading.Class != harmony.Suspension || reading.Figures == "9-8" || reading.Harmony < 0 {
				continue
			}
			m := p.chords[reading.Harmony].FirstMoment
			goal := notes[n+1].Pitch
			if theory.Between(notes[n].Pitch, goal).Steps != -1 || p.cell(m, v).note != int32(n) {
				continue
			}
			for other := 0; other+1 < len(p.Voices); other++ {
				held := p.Sounding(m, other)
				if other == v || held == nil || held.Pitch.Class() != goal.Class() {
					continue
				}
				f := p.at(m, v, other)
				if other < v {
					f.Voices[0], f.Voices[1] = other, v
				}
				f.Notes = []NoteRef{{v, n}, {other, p.At(m, other)}}
				f.Args = []Arg{{"pitch", notes[n].Pitch}, {"goal", goal}, {"other", VoiceName(p.Voices[other].Name)}}
				found = append(found, f)
				break
			}
		}
	}
	return found
}

// isDissonant reports whether an interval above the lowest voice is dissonant:
// seconds, sevenths, the fourth, and everything diminished or augmented.
func isDissonant(i theory.Interval) bool {
	switch s := i.Simple(); s.Steps {
	case 1, 3, 6:
		return true
	default:
		q := s.Quality()
		return q != theory.Perfect && q != theory.Major && q != theory.Minor
	}
}

func (p *Passage) speciesDissonances() []Finding {
	var found []Finding
	for m := range p.Moments {
		lowest := p.lowest(m)
		for v := range p.Voices {
			i, both := p.dyad(m, v, max(lowest, 0))
			if lowest < 0 || v == lowest || !both || !isDissonant(i) {
				continue
			}
			if p.IsStruck(m, v) || p.IsStruck(m, lowest) {
				if !p.speciesAllows(m, v, lowest) {
					found = append(found, p.dissonance(m, min(v, lowest), max(v, lowest)))
				}
			}
		}
	}
	return found
}

// lowest returns the voice that sounds lowest at a moment, -1 in silence.
func (p *Passage) lowest(m int) int {
	low := -1
	for v := range p.Voices {
		if c := p.cell(m, v); c.note >= 0 && (low < 0 || c.semitones <= p.cell(m, low).semitones) {
			low = v
		}
	}
	return low
}

// speciesAllows tells whether the dissonance of two voices at a moment is one
// that the species of the set has.
func (p *Passage) speciesAllows(m, a, b int) bool {
	moving, staying := a, b
	switch {
	case p.IsStruck(m, a) && p.IsStruck(m, b):
		return false // struck together: no species has it
	case p.IsStruck(m, b):
		moving, staying = b, a
	}
	s := p.Limits.Species
	passing, neighbor := p.stepwise(NoteRef{moving, p.At(m, moving)})
	weak := p.strength(m) < 3
	switch {
	case (s == 2 || s == 3 || s == 5) && weak && passing:
		return true
	case (s == 3 || s == 5) && weak && neighbor:
		return true
	case s >= 4 && !p.IsStruck(m, staying):
		return p.isSuspension(m, NoteRef{staying, p.At(m, staying)})
	}
	return false
}

// stepwise reports whether a note is reached and left by step, onward (passing)
// or back (neighbor).
func (p *Passage) stepwise(r NoteRef) (passing, neighbor bool) {
	notes := p.Voices[r.Voice].Notes
	if r.Note == 0 || r.Note+1 >= len(notes) {
		return false, false
	}
	in := theory.Between(notes[r.Note-1].Pitch, notes[r.Note].Pitch)
	out := theory.Between(notes[r.Note].Pitch, notes[r.Note+1].Pitch)
	if !in.IsStep() || !out.IsStep() {
		return false, false
	}
	return in.Steps == out.Steps, in.Steps == -out.Steps
}

// isSuspension reports whether a held note was consonant when it was struck,
// stands on a strong place and steps down.
func (p *Passage) isSuspension(m int, r NoteRef) bool {
	notes := p.Voices[r.Voice].Notes
	if r.Note+1 >= len(notes) || p.strength(m) < 2 {
		return false
	}
	struck := p.momentOf(r)
	if low := p.lowest(struck); low >= 0 && low != r.Voice {
		if i, both := p.dyad(struck, r.Voice, low); both && isDissonant(i) {
			return false
		}
	}
	return theory.Between(notes[r.Note].Pitch, notes[r.Note+1].Pitch).Steps == -1
}
