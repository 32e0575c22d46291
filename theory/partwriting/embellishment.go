package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Nonchord tones that no figure explains, and suspensions that go wrong.
var embellishments = []*Rule{
	{
		ID: "nonchord-tone-unexplained", Family: Embellishment, Severity: Caution,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 10", "neither approached nor left as any figure with a name; where the chord was named it is told as a note outside it"},
		Check:  (*Passage).unexplainedTones,
	},
	{
		ID: "suspension-note-anticipated", Family: Embellishment, Severity: Remark,
		Source: Source{"Open Music Theory v1", "species counterpoint, fourth species", "the note of resolution sounds in another upper voice meanwhile; free in a 9-8"},
		Check:  (*Passage).anticipatedResolutions,
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
			f := p.at(p.MomentOf(NoteRef{v, n}), v)
			f.Notes = []NoteRef{{v, n}}
			f.Args = []Arg{{"pitch", p.Voices[v].Notes[n].Pitch}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	}
	return found
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
