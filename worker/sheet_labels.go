package worker

import (
	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
)

// layers are what the plan wants on a sheet, or what the sheet has by itself.
func (j *voicingJob) layers(auto musicxml.Layers) musicxml.Layers {
	if j.Annotate == nil {
		return auto
	}
	return *j.Annotate
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

// figures are those of each harmony under the signature that holds there; what no
// figure can say goes without.
func figures(a *harmony.Analysis, s *theory.Score) []sheet.Figures {
	var out []sheet.Figures
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		chord := harmony.Chord{Root: h.Root(), Quality: h.Quality(), Inversion: h.Inversion()}
		stack, _ := chord.Figures(s.MeasureAt(h.Onset).Key)
		out = append(out, sheet.Figures{Onset: h.Onset, Stack: stack})
	}
	return out
}
