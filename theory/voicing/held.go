package voicing

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
)

// Held counts the chords at the beginning whose notes are all given.
func (p *Progression) Held(voices int) int {
	for k := range p.Chords {
		fixed := p.Chords[k].Fixed
		if len(fixed) != voices || slices.Contains(fixed, nil) {
			return k
		}
	}
	return len(p.Chords)
}

// Hold gives a chord its notes, from the top voice down.
func (p *Progression) Hold(k int, pitches []theory.Pitch) {
	p.Chords[k].Fixed = make([]*theory.Pitch, len(pitches))
	for v := range pitches {
		p.Chords[k].Fixed[v] = &pitches[v]
	}
}

// Copy is a progression whose chords can be held without holding those of p.
func (p *Progression) Copy() *Progression {
	c := *p
	c.Chords = slices.Clone(p.Chords)
	return &c
}

// Row writes the progression as a text that [ReadProgression] reads as a row of chords:
// keys, numerals with the notes that are given, beats, and the ends of phrases.
func (p *Progression) Row() string {
	var words []string
	if t := p.Layout.time(); t != (theory.TimeSignature{Beats: 4, BeatType: 4}) {
		words = append(words, fmt.Sprintf("%d/%d", t.Beats, t.BeatType))
	}
	for k := range p.Chords {
		c := &p.Chords[k]
		if key := c.Reading.Key; k == 0 || key != p.Chords[k-1].Reading.Key {
			words = append(words, key.Abbreviation()+":")
		}
		word := c.Reading.Numeral.Text(c.Reading.Key.Mode)
		if c.Reading.Quality().IsExtended() {
			word = c.Reading.Symbol() // which no numeral says
		}
		word += braces(c.Fixed)
		if beats := c.Duration.Div(p.Layout.time().Beat()); beats != theory.Whole(1) {
			word += "*" + beats.String()
		}
		words = append(words, word)
		if c.PhraseEnd && k+1 < len(p.Chords) {
			words = append(words, "||")
		}
	}
	return strings.Join(words, " ")
}

// braces are given notes as a row has them.
func braces(fixed []*theory.Pitch) string {
	if !slices.ContainsFunc(fixed, func(p *theory.Pitch) bool { return p != nil }) {
		return ""
	}
	names := make([]string, len(fixed))
	for v, p := range fixed {
		if names[v] = "-"; p != nil {
			names[v] = p.String()
		}
	}
	return "{" + strings.Join(names, ",") + "}"
}

// Finish voices a progression whose first chords are held: the cheapest way without a
// fault, or else the least bad with the number of rules that it breaks.
func (p *Progression) Finish(ctx context.Context, style Style) (s *Solution, broken int, err error) {
	search, err := NewSearch(ctx, p.Problem(style))
	if err != nil {
		return nil, 0, err
	}
	s, broken = search.LeastBad()
	return s, broken, nil
}
