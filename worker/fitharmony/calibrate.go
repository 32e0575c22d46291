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
	margin, brevity, confidence float64
	right                       bool
	set                         int // indexes setNames
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
		o := outcome{margin: math.Min(h.Margin, harmony.MaxMargin), brevity: a.Brevity(), confidence: h.Confidence}
		for _, right := range g.right[i] {
			o.right = o.right || agree(right, h.Reading).full == 1 || h.Pivot != nil && agree(right, *h.Pivot).full == 1
		}
		out = append(out, o)
	}
	return out
}

// certainty turns a margin and the brevity of a piece into a confidence.
type certainty [3]float64

func (c certainty) of(o *outcome) float64 {
	return 1 / (1 + math.Exp(-(c[0] + c[1]*o.margin + c[2]*o.brevity)))
}

func (c certainty) into(weights map[string]float64) {
	weights["certain base"], weights["certain slope"], weights["certain brevity"] = c[0], c[1], c[2]
}

// fitCertainty fits the numbers of the logistic curve from margins and brevity to the
// share of right readings, by Newton's method on the likelihood. A small weight draws
// them to 0, so that sets of pieces of one length have an answer too.
func fitCertainty(all []outcome) certainty {
	var c certainty
	for range 30 {
		const draw = 0.1
		var g [3]float64
		var h [3][4]float64
		for i := range h {
			h[i][i], g[i] = draw, -draw*c[i]
		}
		for i := range all {
			o := &all[i]
			p := c.of(o)
			x, d := [3]float64{1, o.margin, o.brevity}, -p
			if o.right {
				d++
			}
			for j := range x {
				g[j] += d * x[j]
				for k := range x {
					h[j][k] += p * (1 - p) * x[j] * x[k]
				}
			}
		}
		for i, step := range solved(h, g) {
			c[i] += step
		}
	}
	return c
}

// solved solves three equations by elimination; the matrix is positive definite.
func solved(h [3][4]float64, g [3]float64) [3]float64 {
	for i := range h {
		h[i][3] = g[i]
	}
	for i := range h {
		for j := range h {
			if j != i {
				f := h[j][i] / h[i][i]
				for k := i; k < 4; k++ {
					h[j][k] -= f * h[i][k]
				}
			}
		}
	}
	return [3]float64{h[0][3] / h[0][0], h[1][3] / h[1][1], h[2][3] / h[2][2]}
}

// certainty fits the confidence on textbook examples, each read with habits
// counted without its fold.
func (f *fitter) certainty(weights map[string]float64) certainty {
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
