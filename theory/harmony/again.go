package harmony

import "partwright/theory"

// Again reads a texture from scratch in the way that an analysis was made of another
// version of it: in the same style, with the labels that were given, else by the notes
// alone. Where every chord was given its name, the names stay. Without an analysis (nil) it is
// read by the notes alone.
func (a *Analysis) Again(t *theory.Texture) *Analysis {
	if a == nil {
		return Analyze(t)
	}
	if len(a.Given) > 0 {
		return GuidedAs(t, a.Given, a.Use, a.Style)
	}
	labels := make([]Label, 0, len(a.Harmonies))
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		if h.Confidence != 1 {
			return AnalyzeAs(t, a.Style)
		}
		labels = append(labels, Label{Onset: h.Onset, Reading: h.Reading})
	}
	if len(labels) == 0 {
		return AnalyzeAs(t, a.Style)
	}
	return Assume(t, labels)
}
