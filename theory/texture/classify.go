package texture

import (
	"partwright/theory"
)

// plan counts how a score stands on the page.
type plan struct {
	*theory.Texture
	// voices counts those that are not extra, parts those that hold any.
	voices, parts int
	// grand counts the parts with voices on two staves or more, lines the parts
	// with one voice.
	grand, lines int
	// guitars and instruments count parts by their names.
	guitars, instruments int
}

func planOf(t *theory.Texture) plan {
	p := plan{Texture: t}
	// A texture that was built by hand may have no parts.
	parts := t.Score.Parts
	if len(parts) == 0 {
		parts = make([]theory.Part, 1)
	}
	count := make([]int, len(parts))
	for v := range t.Voices {
		if !t.Voices[v].Extra {
			p.voices++
			count[t.Voices[v].Part]++
		}
	}
	for i, n := range count {
		part := &parts[i]
		if n == 0 {
			continue
		}
		p.parts++
		if part.Staves > 1 {
			p.grand++
		} else if n == 1 {
			p.lines++
		}
		switch {
		case isGuitar(part.Name):
			p.guitars++
		case isInstrument(part.Name):
			p.instruments++
		}
	}
	return p
}

// kinds tells the kind by the first line that fits. The last one always does.
var kinds = []struct {
	kind Kind
	fits func(*plan) bool
}{
	{Silent, func(p *plan) bool { return p.voices == 0 }},
	{LeadSheet, func(p *plan) bool { return p.voices == 1 && len(p.Score.Chords)+len(p.Score.Figures) > 0 }},
	{Guitar, func(p *plan) bool { return p.guitars > 0 && p.guitars == p.parts }},
	{Melody, func(p *plan) bool { return p.voices == 1 }},
	{TwoVoices, func(p *plan) bool { return p.voices == 2 && len(p.Voices) == 2 }},
	{Song, func(p *plan) bool { return p.grand+p.guitars == 1 && 0 < p.lines && p.parts <= 3 }},
	{Ensemble, func(p *plan) bool { return p.grand+p.guitars > 0 && p.parts > 1 }},
	{KeyboardStyle, (*plan).keyboardStyle},
	{Piano, (*plan).piano},
	{Ensemble, (*plan).ensemble},
	{Choir, func(*plan) bool { return true }},
}

func kindOf(t *theory.Texture) Kind {
	p := planOf(t)
	for i := range kinds {
		if kinds[i].fits(&p) {
			return kinds[i].kind
		}
	}
	return Choir
}

// handShare is how much of the time the upper voices stay within an octave in
// keyboard style. In chorales they do for 0.68 of it.
const handShare = 0.95

// keyboardStyle: chords of three on the upper staff, close enough for one hand,
// over a bass alone on the lower one.
func (p *plan) keyboardStyle() bool {
	if p.Layout != theory.KeyboardScore || p.voices != 4 || !homophonic(p.Texture) {
		return false
	}
	place := func(v int) [2]int { return [2]int{p.Voices[v].Part, p.Voices[v].Staff} }
	if place(0) != place(1) || place(1) != place(2) || place(2) == place(3) {
		return false
	}
	within, both := 0, 0
	for m := range p.Moments {
		high, low := p.Sounding(m, 0), p.Sounding(m, 2)
		if high == nil || low == nil {
			continue
		}
		both++
		if high.Pitch.Semitones()-low.Pitch.Semitones() <= 12 {
			within++
		}
	}
	return float64(within) >= handShare*float64(both) && fullness(p.Texture, 4) >= handShare
}

// A keyboard plays chords that change in size: more voices than a choir has on two
// staves, or notes beyond the voices at more than this share of the moments.
const (
	mostOnTwoStaves = 5
	surplusShare    = 0.2
)

// piano: one instrument on two staves whose notes are no fixed number of voices
// that move together.
func (p *plan) piano() bool {
	switch p.Layout {
	case theory.KeyboardScore, theory.BlockChords:
		return p.voices > mostOnTwoStaves || !homophonic(p.Texture) || p.surplus() > surplusShare
	case theory.MixedLayout:
		return p.parts == 1 && p.grand == 1
	}
	// A closed score on the two staves of a keyboard is a choir's if its voices move
	// together, a fugue's or a prelude's if they do not.
	return p.parts == 1 && p.grand == 1 && !homophonic(p.Texture)
}

// surplus is the share of moments at which a note beyond the voices sounds.
func (p *plan) surplus() float64 {
	more := 0
	for m := range p.Moments {
		for v := p.voices; v < len(p.Voices); v++ {
			if p.At(m, v) >= 0 {
				more++
				break
			}
		}
	}
	return float64(more) / float64(max(1, len(p.Moments)))
}

// mostSingers is how many lines a choir has at most: two of four parts.
const mostSingers = 8

// ensemble: instruments that do not move together, more lines than a choir has,
// or parts that double one another.
func (p *plan) ensemble() bool {
	switch {
	case p.voices > mostSingers:
		return true
	case p.parts > 2 && p.instruments*2 > p.parts && !homophonic(p.Texture):
		return true
	}
	return p.parts > 4 && p.coupled()
}
