package voicing

import "partwright/theory"

// Sounding writes the chords that are named as somebody plays them to hear them: the bass in
// the third octave and the other members close above it, the bass doubled over a triad. It
// is for ears, not for rules.
func (p *Progression) Sounding() *theory.Texture {
	style := Chorale()
	voices := len(style.Voices)
	s := &Solution{}
	for i := range p.Chords {
		r := p.Chords[i].Reading
		c := Chord{Reading: r, Pitches: make([]theory.Pitch, voices)}
		below := theory.Pitch{Octave: 2}
		for v := voices - 1; v >= 0; v-- {
			member := r.Member((r.Inversion() + voices - 1 - v) % r.Size())
			at := theory.Pitch{Step: member.Step, Alter: member.Alter, Octave: below.Octave}
			if v == voices-1 {
				at.Octave++
			}
			for v < voices-1 && !at.Above(below) {
				at.Octave++
			}
			c.Pitches[v], below = at, at
		}
		s.Chords = append(s.Chords, c)
	}
	return s.Texture(&style, Layout{Durations: p.Layout.Durations, Time: p.Layout.Time, Pickup: p.Layout.Pickup, Frame: p.Layout.Frame, Start: p.Layout.Start, Rests: p.Layout.Rests})
}
