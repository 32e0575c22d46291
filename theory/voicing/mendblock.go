package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// isBlock reports whether a texture is a row of block chords rather than voices: three
// chords or more, nearly all of them struck in all voices at once, in root position,
// and no wider than an octave from top to bottom. Where the voices of an exercise
// stand so close, they were never led.
func isBlock(t *theory.Texture, a *harmony.Analysis) bool {
	if len(t.Voices) < 3 || len(t.Moments) < 3 {
		return false
	}
	block := 0
	for m := range t.Moments {
		if h := a.At(m); h != nil && isBlockAt(t, m, h.Root()) {
			block++
		}
	}
	return block*10 >= len(t.Moments)*9
}

func isBlockAt(t *theory.Texture, m int, root theory.PitchClass) bool {
	var low, high theory.Pitch
	for v := range t.Voices {
		n := t.Sounding(m, v)
		if n == nil || !t.IsStruck(m, v) {
			return false
		}
		if v == 0 || n.Pitch.Above(high) {
			high = n.Pitch
		}
		if v == 0 || low.Above(n.Pitch) {
			low = n.Pitch
		}
	}
	return low.Class() == root && high.Semitones()-low.Semitones() <= 12
}
