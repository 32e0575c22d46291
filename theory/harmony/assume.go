package harmony

import "partwright/theory"

// Label is a reading that somebody has given for a stretch of music, or that was
// inferred there before.
type Label struct {
	Onset theory.Fraction
	Reading
	// Confidence is that of an inferred reading; 0 for one that was given.
	Confidence float64
}

// Assume returns the analysis that given labels make of a texture: each lasts
// until the next one, in order of onset. Nothing is inferred but phrases, cadences
// and the parts that notes play; confidences are those of the labels, 1
// where a reading was given.
func Assume(t *theory.Texture, labels []Label) *Analysis {
	a := emptyAnalysis(t)
	if len(t.Moments) == 0 {
		return a
	}
	a.Phrases = findPhrases(t)
	end := soundingEnd(t)
	m := 0
	for i, l := range labels {
		h := Harmony{Onset: l.Onset, End: end, Reading: l.Reading, Confidence: l.Confidence}
		if l.Confidence == 0 {
			h.Confidence = 1
		}
		if i+1 < len(labels) {
			h.End = labels[i+1].Onset
		}
		m = momentAt(t, m, h.Onset)
		h.FirstMoment = m
		if m < len(t.Moments) {
			h.Measure = int(t.Moments[m].Measure)
		}
		m = momentAt(t, m, h.End)
		h.EndMoment = m
		a.Harmonies = append(a.Harmonies, h)
	}
	a.finish()
	a.findCadences()
	return a
}
