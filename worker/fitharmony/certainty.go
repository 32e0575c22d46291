package main

import (
	"fmt"
	"io"
	"math"

	"partwright/theory/harmony"
)

// certainties collects how sure cross-validated readings were, by style and fold.
type certainties struct {
	all [harmony.FreeStyle + 1][folds][]outcome
}

func (c *certainties) add(s *labeled, i int, a *harmony.Analysis) {
	list := &c.all[a.Style][s.fold[i]]
	*list = append(*list, s.grids[i].outcomes(a)...)
}

// report prints for each style the two numbers of the confidence, fitted on all
// folds, and how often each confidence is right when it is fitted without the fold
// it is told for.
func (c *certainties) report(w io.Writer) {
	for _, style := range []harmony.Style{harmony.ChoraleStyle, harmony.FreeStyle} {
		base, slope := fitCertainty(c.without(style, -1))
		fmt.Fprintf(w, "\nstyle %s: certain base %.4f, certain slope %.4f on all folds\n", style, base, slope)
		var r reliability
		for fold := range folds {
			base, slope := fitCertainty(c.without(style, fold))
			for _, o := range c.all[style][fold] {
				r.add(1/(1+math.Exp(-(base+slope*o.margin))), o.right)
			}
		}
		r.print(w)
	}
}

func (c *certainties) without(style harmony.Style, fold int) []outcome {
	var out []outcome
	for f, list := range c.all[style] {
		if f != fold {
			out = append(out, list...)
		}
	}
	return out
}

// reliability counts how often readings of each confidence are right.
type reliability struct {
	rows  [10]struct{ n, right, sum float64 }
	brier float64
}

func (r *reliability) add(confidence float64, right bool) {
	row := &r.rows[min(9, int(confidence*10))]
	row.n, row.sum = row.n+1, row.sum+confidence
	miss := confidence
	if right {
		row.right++
		miss--
	}
	r.brier += miss * miss
}

// print writes the table, the Brier score and the expected calibration error: the
// mean distance of what is told from what is right, over rows (Naeini, Cooper and
// Hauskrecht, AAAI 2015).
func (r *reliability) print(w io.Writer) {
	points, away := 0.0, 0.0
	fmt.Fprintln(w, "confidence   eighths   mean   right")
	for i, row := range r.rows {
		if row.n > 0 {
			fmt.Fprintf(w, "%.1f to %.1f  %8.0f  %5.2f   %5.2f\n", float64(i)/10, float64(i+1)/10, row.n, row.sum/row.n, row.right/row.n)
		}
		points, away = points+row.n, away+math.Abs(row.sum-row.right)
	}
	fmt.Fprintf(w, "calibration error %.3f, Brier score %.3f over %.0f eighths\n", away/math.Max(points, 1), r.brier/math.Max(points, 1), points)
}
