package worker

import (
	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker/request"
)

// staves sets the voices as the plan or the style wants them.
func (j *voicingJob) staves(t *theory.Texture) []sheet.Staff {
	switch {
	case j.Layout == "keyboard", j.Layout == "" && j.keyboard():
		return sheet.Keyboard(t)
	case j.Layout == "open":
		return sheet.Open(t)
	}
	return sheet.Closed(t)
}

// keyboard tells a texture for two hands.
func (j *voicingJob) keyboard() bool { return j.Style.MaxSpan > 0 }

// exercise is the sheet that shows given voices only.
func (j *voicingJob) exercise() ([]byte, error) {
	shown := j.shown()
	texture := j.plain(0)
	layout := j.staves(texture)
	if j.Layout == "" && !j.keyboard() {
		layout = sheet.Open(texture)
	}
	last := len(texture.Voices) - 1
	given := map[string][]int{request.GivesBass: {last}, request.GivesSoprano: {0}, request.GivesOuter: {0, last}}[shown]
	page := &sheet.Sheet{Work: j.work, Title: j.title, Texture: texture, Staves: sheet.Exercise(layout, given), Sung: j.sung, IDs: j.ids()}
	j.annotate(page, j.exerciseLayers(shown), j.solutions[0].Harmony(texture, j.progression.Layout))
	return writeSheet(page)
}

// exerciseLayers are what an exercise says about its chords by itself, which gives
// nothing away: figures under a bass, over a melody the chord symbols that came with
// it, else its numerals; nothing where the chords are for the pupil to choose.
func (j *voicingJob) exerciseLayers(shown string) musicxml.Layers {
	switch {
	case !namesChords(j.progression):
		return 0
	case shown != request.GivesSoprano:
		return musicxml.Figures
	case j.symbols:
		return musicxml.Symbols
	}
	return musicxml.Numerals
}

// shown is what the exercise shows.
func (j *voicingJob) shown() string {
	if j.Exercise != request.Auto {
		return j.Exercise
	}
	p := j.progression
	top, bass := p.Layout.Top != nil, p.Layout.Bass != nil
	allTop, allBass := true, true
	for _, c := range p.Chords {
		allTop = allTop && (len(c.Top) > 0 || len(c.Fixed) > 0 && c.Fixed[0] != nil)
		allBass = allBass && c.Bass != nil
	}
	switch top, bass = top || allTop, bass || allBass; {
	case top && bass:
		return request.GivesOuter
	case top:
		return request.GivesSoprano
	}
	return request.GivesBass
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
