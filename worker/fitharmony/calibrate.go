package main

import (
	"io"
	"math"
	"path/filepath"

	"partwright/theory/harmony"
)

// outcome is one eighth note: how sure the analysis was and whether it was right
// in key and numeral.
type outcome struct {
	margin, confidence float64
	right              bool
}

func (g *grid) outcomes(a *harmony.Analysis) []outcome {
	var out []outcome
	at := 0
	for i, onset := range g.onsets {
		for at+1 < len(a.Harmonies) && !onset.Less(a.Harmonies[at+1].Onset) {
			at++
		}
		if len(a.Harmonies) == 0 {
			return nil
		}
		h := &a.Harmonies[at]
		o := outcome{margin: math.Min(h.Margin, harmony.MaxMargin), confidence: h.Confidence}
		for _, right := range g.right[i] {
			o.right = o.right || agree(right, h.Reading).full == 1 || h.Pivot != nil && agree(right, *h.Pivot).full == 1
		}
		out = append(out, o)
	}
	return out
}

// fitCertainty fits the two numbers of the logistic curve from margins to the
// share of right readings, by Newton's method on the likelihood.
func fitCertainty(all []outcome) (base, slope float64) {
	for range 30 {
		var g0, g1, h00, h01, h11 float64
		for _, o := range all {
			p := 1 / (1 + math.Exp(-(base + slope*o.margin)))
			d, w := -p, p*(1-p)
			if o.right {
				d++
			}
			g0, g1 = g0+d, g1+d*o.margin
			h00, h01, h11 = h00+w, h01+w*o.margin, h11+w*o.margin*o.margin
		}
		det := h00*h11 - h01*h01
		if math.Abs(det) < 1e-9 {
			break
		}
		base += (h11*g0 - h01*g1) / det
		slope += (h00*g1 - h01*g0) / det
	}
	return base, slope
}

// certainty fits the confidence on textbook examples, each read with habits
// counted without its fold.
func (f *fitter) certainty(weights map[string]float64) (base, slope float64) {
	var all []outcome
	for i, e := range f.textbooks.examples {
		model := f.models[f.textbooks.fold[i]].WithWeights(weights)
		all = append(all, f.textbooks.grids[i].outcomes(model.Analyze(e.texture))...)
	}
	return fitCertainty(all)
}

// table prints how often labels of each confidence are right.
func table(w io.Writer, scores, labels string) error {
	paths, err := filepath.Glob(filepath.Join(scores, "*.mxl"))
	if err != nil {
		return err
	}
	var r reliability
	for _, path := range paths {
		analysis, err := firstOf(labels, stem(path))
		if err != nil || analysis == nil {
			continue
		}
		t, err := readTexture(path)
		if err != nil {
			return err
		}
		for _, o := range newGrid(&example{stem(path), t, analysis}).outcomes(harmony.Analyze(t)) {
			r.add(o.confidence, o.right)
		}
	}
	r.print(w)
	return nil
}

// firstOf reads the analysis of a score from a folder, nil if it has none.
func firstOf(folder, name string) (*harmony.RomanText, error) {
	for _, extension := range []string{".txt", ".rntxt"} {
		if r, err := readLabels(filepath.Join(folder, name+extension)); err == nil {
			return r, nil
		}
	}
	return nil, nil
}
