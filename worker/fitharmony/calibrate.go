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
	margin, brevity, phrasing, confidence float64
	right                                 bool
	set                                   int // indexes setNames
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
		o := outcome{margin: math.Min(h.Margin, harmony.MaxMargin), brevity: a.Brevity(), phrasing: a.Phrasing(), confidence: h.Confidence}
		for _, right := range g.right[i] {
			o.right = o.right || agree(right, h.Reading).full == 1 || h.Pivot != nil && agree(right, *h.Pivot).full == 1
		}
		out = append(out, o)
	}
	return out
}

// told is how many numbers a confidence is made with.
const told = 4

// certainty turns a margin and the brevity and phrasing of a piece into a confidence.
type certainty [told]float64

// inputs are what the numbers of a certainty are multiplied with.
func (o *outcome) inputs() [told]float64 { return [told]float64{1, o.margin, o.brevity, o.phrasing} }

func (c certainty) of(o *outcome) float64 {
	sum := 0.0
	for i, x := range o.inputs() {
		sum += c[i] * x
	}
	return 1 / (1 + math.Exp(-sum))
}

func (c certainty) into(weights map[string]float64) {
	for i, name := range [told]string{"certain base", "certain slope", "certain brevity", "certain phrasing"} {
		weights[name] = c[i]
	}
}

// fitCertainty fits the numbers of the logistic curve from margins, brevity and phrasing
// to the share of right readings, by Newton's method on the likelihood. A small weight draws
// them to 0, so that sets of pieces of one length have an answer too.
func fitCertainty(all []outcome) certainty {
	var c certainty
	for range 30 {
		const draw = 0.1
		var g [told]float64
		var h [told][told + 1]float64
		for i := range h {
			h[i][i], g[i] = draw, -draw*c[i]
		}
		for i := range all {
			o := &all[i]
			p := c.of(o)
			x, d := o.inputs(), -p
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

// solved solves equations by elimination; the matrix is positive definite.
func solved(h [told][told + 1]float64, g [told]float64) (out [told]float64) {
	for i := range h {
		h[i][told] = g[i]
	}
	for i := range h {
		for j := range h {
			if j != i {
				f := h[j][i] / h[i][i]
				for k := i; k <= told; k++ {
					h[j][k] -= f * h[i][k]
				}
			}
		}
	}
	for i := range out {
		out[i] = h[i][told] / h[i][i]
	}
	return out
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
