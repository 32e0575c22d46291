package texture

import (
	"math/bits"

	"partwright/theory"
)

// Reading is what the texture of a score was found to be.
type Reading struct {
	Kind Kind
	// Homophonic is set where a fixed number of voices mostly move together.
	Homophonic bool
	// Named is set where somebody has named the kind.
	Named bool

	texture *theory.Texture
}

// togetherShare is the share of voices that begin a note where any does, from
// which on voices count as moving together. In chorales it is 0.56 and more, in
// the songs and preludes that the second model of harmony was trained on 0.34 in
// the middle.
const togetherShare = 0.5

// Of reads the texture of a score.
func Of(t *theory.Texture) Reading {
	return Reading{Kind: kindOf(t), Homophonic: homophonic(t), texture: t}
}

// As reads the texture as one of a kind that somebody has named; [ByItself] reads
// it as [Of] does.
func As(t *theory.Texture, kind Kind) Reading {
	r := Of(t)
	if kind != ByItself {
		r.Kind, r.Named = kind, true
	}
	return r
}

// homophonic reports whether the voices move together. A score that mixes lines
// and chords, such as a song, never counts.
func homophonic(t *theory.Texture) bool {
	return t.Layout != theory.MixedLayout && together(t) >= togetherShare
}

// together is the mean share of voices that begin a note where any does, 0 to 1.
func together(t *theory.Texture) float64 {
	struck := 0
	for m := range t.Moments {
		struck += bits.OnesCount64(t.Moments[m].Struck)
	}
	return float64(struck) / float64(max(1, len(t.Moments)*len(t.Voices)))
}

// fullness is the share of moments at which every voice but extra ones sounds.
func fullness(t *theory.Texture, voices int) float64 {
	full := 0
	for m := range t.Moments {
		all := true
		for v := 0; v < voices && all; v++ {
			all = t.At(m, v) >= 0
		}
		if all {
			full++
		}
	}
	return float64(full) / float64(max(1, len(t.Moments)))
}

// IsLine reports whether a voice is a line of its own that the rules about lines
// and pairs of lines hold to. Where parts may double, the notes between the
// highest and the lowest of a part are filling.
func (r Reading) IsLine(voice int) bool {
	voices := r.texture.Voices
	if !r.Kind.Doubles() {
		return true
	}
	if voices[voice].Extra {
		return false
	}
	above, below := false, false
	for v := range voices {
		if v != voice && !voices[v].Extra && voices[v].Part == voices[voice].Part {
			above = above || v < voice
			below = below || v > voice
		}
	}
	return !above || !below
}
