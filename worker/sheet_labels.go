package worker

import (
	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
)

// What a sheet says about its chords, beside the names of [musicxml.ParseLayers].
const (
	annotateAuto = "auto"
	annotateNone = "none"
)

// SheetAnnotations lists what the sheets of a voicing can say about their chords:
// "auto" is numerals in answers, in exercises what the task gives; "none" nothing.
func SheetAnnotations() []string {
	return append([]string{annotateAuto, annotateNone}, musicxml.LayerNames()...)
}

// layers are what a request wants on a sheet, or what the sheet has by itself.
func (r *VoiceRequest) layers(auto musicxml.Layers) (musicxml.Layers, error) {
	switch r.Annotate {
	case "", annotateAuto:
		return auto, nil
	case annotateNone:
		return 0, nil
	}
	layers, err := musicxml.ParseLayers(r.Annotate)
	if err != nil {
		return 0, &RequestError{err.Error() + "; or auto, or none"}
	}
	return layers, nil
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
