package texture

import "partwright/theory"

// A line doubles another where it moves with it in octaves or unisons for most of
// the time, and long enough to be meant.
const (
	coupledShare = 0.6
	coupledMoves = 8
)

// coupled reports whether some part doubles another for most of the time.
func (p *plan) coupled() bool {
	for a := range p.voices {
		for b := a + 1; b < p.voices; b++ {
			if p.Voices[a].Part != p.Voices[b].Part && doubles(p.Texture, a, b) {
				return true
			}
		}
	}
	return false
}

func doubles(t *theory.Texture, a, b int) bool {
	moves, kept := 0, 0
	var last [2]*theory.VoiceNote
	for m := range t.Moments {
		if !t.IsStruck(m, a) && !t.IsStruck(m, b) {
			continue
		}
		now := [2]*theory.VoiceNote{t.Sounding(m, a), t.Sounding(m, b)}
		if now[0] == nil || now[1] == nil {
			last = now
			continue
		}
		if last[0] != nil && last[1] != nil && last[0].Pitch != now[0].Pitch {
			moves++
			if octaves(now) && octaves(last) {
				kept++
			}
		}
		last = now
	}
	return moves >= coupledMoves && float64(kept) >= coupledShare*float64(moves)
}

func octaves(pair [2]*theory.VoiceNote) bool {
	return pair[0].Pitch.Class() == pair[1].Pitch.Class()
}
