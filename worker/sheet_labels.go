package worker

import (
	"slices"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
)

// layers are what the plan wants on a sheet, or what the sheet has by itself.
func (j *voicingJob) layers(auto musicxml.Layers) musicxml.Layers {
	if j.Annotate == nil {
		return auto
	}
	return *j.Annotate
}

// figured adds the figures of a bass that came with them to what a sheet has by itself.
func (j *voicingJob) figured(auto musicxml.Layers) musicxml.Layers {
	if j.givenFigures() != nil {
		auto |= musicxml.Figures
	}
	return auto
}

// givenFigures are the figures of the task, nil where there are none, or where the ending
// has other chords.
func (j *voicingJob) givenFigures() []theory.GivenFigures {
	if j.Ending != voicing.AsGiven || j.SixFour {
		return nil
	}
	return j.progression.Figures
}

// annotate writes the layers that are wanted, or those that a sheet has by itself.
func (j *voicingJob) annotate(page *sheet.Sheet, auto musicxml.Layers, a *harmony.Analysis) {
	layers := j.layers(auto)
	annotate(page, layers, a)
	if given := j.givenFigures(); given != nil && layers&musicxml.Figures != 0 {
		page.Figures = asGiven(given)
	}
}

// annotate writes layers of an analysis onto a sheet: symbols over the top staff,
// numerals and figures under the lowest.
func annotate(page *sheet.Sheet, layers musicxml.Layers, a *harmony.Analysis) {
	last := len(page.Staves) - 1
	if layers&musicxml.Symbols != 0 {
		page.Staves[0].Symbols = a.Harmonies
	}
	if layers&musicxml.Numerals != 0 {
		page.Staves[last].Numerals = a.Harmonies
	}
	if layers&musicxml.Figures != 0 {
		page.Figures = figures(a, page.Texture.Score)
	}
}

// figures are those of each harmony under the signature that holds there, suspensions
// with the numbers that they resolve to; what no figure can say goes without.
func figures(a *harmony.Analysis, s *theory.Score) []sheet.Figures {
	var out []sheet.Figures
	delays := a.Delays()
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		chord := harmony.Chord{Root: h.Root(), Quality: h.Quality(), Inversion: h.Inversion()}
		var own []harmony.Delay
		changes := []theory.Fraction{h.Onset}
		for _, d := range delays {
			if d.Harmony == i {
				own = append(own, d)
				changes = append(changes, d.From, d.Until)
			}
		}
		slices.SortFunc(changes, theory.Fraction.Cmp)
		for _, at := range slices.Compact(changes) {
			var delayed, come []harmony.Delay
			for _, d := range own {
				switch {
				case !at.Less(d.Until):
					come = append(come, d)
				case !at.Less(d.From):
					delayed = append(delayed, d)
				}
			}
			stack, _ := chord.DelayedFigures(s.MeasureAt(h.Onset).Key, delayed, come)
			out = append(out, sheet.Figures{Onset: at, Stack: stack})
		}
	}
	return out
}

// asGiven are the figures of a given bass as they were written.
func asGiven(given []theory.GivenFigures) []sheet.Figures {
	var out []sheet.Figures
	for i := range given {
		out = append(out, sheet.Figures{Onset: given[i].Onset, Stack: given[i].Figures})
	}
	return out
}
