package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// certainties collects how sure cross-validated readings were, by style and fold.
type certainties struct {
	all [harmony.FreeStyle + 1][folds][]outcome
	// others are what was told of readings beside the analysis's own; first counts
	// the eighths at which the own reading is right, second those at which it or the
	// first of the others is.
	others        [harmony.FreeStyle + 1]reliability
	first, second [harmony.FreeStyle + 1]int
}

func (c *certainties) add(s *labeled, i int, a *harmony.Analysis) {
	list := &c.all[a.Style][s.fold[i]]
	for _, o := range s.grids[i].outcomes(a) {
		o.set = slices.Index(setNames[:], s.name)
		*list = append(*list, o)
	}
	c.addOthers(s.grids[i], s.examples[i].texture, a)
}

// addOthers takes note of what else was held plausible at each eighth.
func (c *certainties) addOthers(g *grid, t *theory.Texture, a *harmony.Analysis) {
	if len(t.Moments) == 0 {
		return
	}
	moment := 0
	for i, onset := range g.onsets {
		for moment+1 < len(t.Moments) && !onset.Less(t.Moments[moment+1].Onset) {
			moment++
		}
		known := false
		for k, r := range a.Plausible(moment, 0) {
			right := slices.ContainsFunc(g.right[i], func(label harmony.Reading) bool { return agree(label, r.Reading).full == 1 })
			if k > 0 {
				c.others[a.Style].add(r.Confidence, right)
			} else if right {
				c.first[a.Style]++
			}
			if k < 2 {
				known = known || right
			}
		}
		if known {
			c.second[a.Style]++
		}
	}
}

// report prints for each style the numbers of the confidence, fitted on all
// folds, and how often each confidence is right when it is fitted without the fold
// it is told for.
func (c *certainties) report(w io.Writer) {
	for _, style := range []harmony.Style{harmony.ChoraleStyle, harmony.FreeStyle} {
		fit := fitCertainty(c.without(style, -1))
		fmt.Fprintf(w, "\nstyle %s: certain base %.4f, slope %.4f, brevity %.4f, phrasing %.4f on all folds\n", style, fit[0], fit[1], fit[2], fit[3])
		var r reliability
		var sets [4]reliability
		for fold := range folds {
			fit := fitCertainty(c.without(style, fold))
			for i := range c.all[style][fold] {
				o := &c.all[style][fold][i]
				r.add(fit.of(o), o.right)
				sets[o.set].add(fit.of(o), o.right)
			}
		}
		r.print(w)
		for i := range sets {
			if points, away := sets[i].away(); points > 0 {
				fmt.Fprintf(w, "%s alone: calibration error %.3f over %.0f eighths\n", setNames[i], away/points, points)
			}
		}
		fmt.Fprintf(w, "right at %d eighths; it or the next plausible reading at %d; the others, as told with the built-in numbers:\n",
			c.first[style], c.second[style])
		c.others[style].print(w)
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

// setNames name the sets in the order in which they are reported.
var setNames = [4]string{"chorales", "textbooks", "songs", "preludes"}

// away is how many points there are and by how much what is told is off, over rows.
func (r *reliability) away() (points, away float64) {
	for _, row := range r.rows {
		points, away = points+row.n, away+math.Abs(row.sum-row.right)
	}
	return points, away
}

// print writes the table, the Brier score and the expected calibration error: the
// mean distance of what is told from what is right, over rows (Naeini, Cooper and
// Hauskrecht, AAAI 2015).
func (r *reliability) print(w io.Writer) {
	points, away := r.away()
	fmt.Fprintln(w, "confidence   eighths   mean   right")
	for i, row := range r.rows {
		if row.n > 0 {
			fmt.Fprintf(w, "%.1f to %.1f  %8.0f  %5.2f   %5.2f\n", float64(i)/10, float64(i+1)/10, row.n, row.sum/row.n, row.right/row.n)
		}
	}
	fmt.Fprintf(w, "calibration error %.3f, Brier score %.3f over %.0f eighths\n", away/math.Max(points, 1), r.brier/math.Max(points, 1), points)
}
