package worker

import (
	"fmt"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/voicing"
)

// ExerciseVoices lists what an exercise can show: "auto" is the line that the task
// gives, the bass where it gives none.
func ExerciseVoices() []string { return []string{"auto", givesBass, givesSoprano, givesOuter} }

// staves sets the voices as the request or the style wants them.
func staves(r *VoiceRequest, t *theory.Texture) ([]sheet.Staff, error) {
	switch layout := r.Layout; {
	case layout == "keyboard" || layout == "" && r.Style == "keyboard":
		return sheet.Keyboard(t), nil
	case layout == "open":
		return sheet.Open(t), nil
	case layout == "closed" || layout == "":
		return sheet.Closed(t), nil
	}
	return nil, &RequestError{fmt.Sprintf("%q is no layout; use open, closed or keyboard", r.Layout)}
}

// exercise is the sheet that shows given voices only.
func exercise(r *VoiceRequest, p *voicing.Progression, problem *voicing.Problem, s *voicing.Solution) ([]byte, error) {
	shown := shownIn(r, p)
	texture := s.Texture(&problem.Style, p.Layout)
	layout, err := staves(r, texture)
	if err != nil {
		return nil, err
	}
	if r.Layout == "" && r.Style != "keyboard" {
		layout = sheet.Open(texture)
	}
	last := len(texture.Voices) - 1
	given := map[string][]int{givesBass: {last}, givesSoprano: {0}, givesOuter: {0, last}}[shown]
	page := &sheet.Sheet{Title: r.Title, Texture: texture, Staves: sheet.Exercise(layout, given)}
	analysis := s.Harmony(texture, p.Layout)
	layers, err := r.layers(exerciseLayers(r, p, shown))
	if err != nil {
		return nil, err
	}
	annotate(page, layers, analysis)
	return sheet.Write(page)
}

// exerciseLayers are what an exercise says about its chords by itself, which gives
// nothing away: figures under a bass, over a melody the chord symbols that came with
// it, else its numerals; nothing where the chords are for the pupil to choose.
func exerciseLayers(r *VoiceRequest, p *voicing.Progression, shown string) musicxml.Layers {
	switch {
	case !namesChords(p):
		return 0
	case shown != givesSoprano:
		return musicxml.Figures
	case r.symbols:
		return musicxml.Symbols
	}
	return musicxml.Numerals
}

// shownIn is what the exercise shows.
func shownIn(r *VoiceRequest, p *voicing.Progression) string {
	if r.Exercise != "auto" {
		return r.Exercise
	}
	top, bass := p.Layout.Top != nil, p.Layout.Bass != nil
	allTop, allBass := true, true
	for _, c := range p.Chords {
		allTop = allTop && (len(c.Top) > 0 || len(c.Fixed) > 0 && c.Fixed[0] != nil)
		allBass = allBass && c.Bass != nil
	}
	switch top, bass = top || allTop, bass || allBass; {
	case top && bass:
		return givesOuter
	case top:
		return givesSoprano
	}
	return givesBass
}

// namesChords reports whether the task names its chords.
func namesChords(p *voicing.Progression) bool {
	for _, c := range p.Chords {
		if c.Choices != nil {
			return false
		}
	}
	return true
}
