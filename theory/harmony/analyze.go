package harmony

import "partwright/theory"

// Analyze reads a texture harmonically. A texture without voices or moments
// gives an empty analysis. The same texture always gives the same analysis.
func Analyze(t *theory.Texture) *Analysis {
	a := &Analysis{texture: t, atMoment: make([]int32, len(t.Moments))}
	for i := range a.atMoment {
		a.atMoment[i] = -1
	}
	a.Notes = make([][]NoteReading, len(t.Voices))
	for v := range t.Voices {
		a.Notes[v] = make([]NoteReading, len(t.Voices[v].Notes))
		for n := range a.Notes[v] {
			a.Notes[v][n] = NoteReading{Class: Unread, Harmony: -1, Member: -1}
		}
	}
	return a
}
