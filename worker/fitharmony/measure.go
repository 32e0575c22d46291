package main

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// grid is a human analysis at every eighth note of its span: the readings that
// count as right, two where a pivot stands.
type grid struct {
	onsets []theory.Fraction
	right  [][]harmony.Reading
}

func newGrid(e *example) *grid {
	g := &grid{}
	placed := e.labels.Place(e.texture)
	if len(placed) == 0 {
		return g
	}
	end := e.texture.Score.End()
	at := 0
	for onset := placed[0].Onset; onset.Less(end); onset = onset.Add(theory.Frac(1, 2)) {
		for at+1 < len(placed) && !onset.Less(placed[at+1].Onset) {
			at++
		}
		var right []harmony.Reading
		for i := at; i >= 0 && placed[i].Onset == placed[at].Onset; i-- {
			right = append(right, placed[i].Reading)
		}
		g.onsets = append(g.onsets, onset)
		g.right = append(g.right, right)
	}
	return g
}

// hits counts the eighth notes at which an analysis agrees.
type hits struct{ points, full, numeral, key, root int }

func (h *hits) add(g hits) {
	h.points += g.points
	h.full += g.full
	h.numeral += g.numeral
	h.key += g.key
	h.root += g.root
}

func (g *grid) compare(a *harmony.Analysis) hits {
	h := hits{points: len(g.onsets)}
	at := 0
	for i, onset := range g.onsets {
		for at+1 < len(a.Harmonies) && !onset.Less(a.Harmonies[at+1].Onset) {
			at++
		}
		if len(a.Harmonies) == 0 {
			return h
		}
		ours := []harmony.Reading{a.Harmonies[at].Reading}
		if p := a.Harmonies[at].Pivot; p != nil {
			ours = append(ours, *p)
		}
		best := hits{}
		for _, right := range g.right[i] {
			for _, our := range ours {
				one := agree(right, our)
				if one.full*4+one.numeral+one.key+one.root > best.full*4+best.numeral+best.key+best.root {
					best = one
				}
			}
		}
		h.add(best)
	}
	return h
}

func agree(a, b harmony.Reading) hits {
	h := hits{}
	if a.Key == b.Key {
		h.key = 1
	}
	if a.Root() == b.Root() {
		h.root = 1
	}
	if sameNumeral(a, b) {
		h.numeral = 1
	}
	h.full = h.key * h.numeral
	return h
}

// sameNumeral compares degree, target, quality and inversion; the mode of a
// target does not count, so that V/v is V/V.
func sameNumeral(a, b harmony.Reading) bool {
	degree := func(r harmony.Reading) int { return r.Root().Fifths() - r.Key.Tonic.Fifths() }
	target := func(r harmony.Reading) int {
		if !r.Numeral.IsApplied() {
			return 1000
		}
		return r.Numeral.In(r.Key).Tonic.Fifths() - r.Key.Tonic.Fifths()
	}
	return degree(a) == degree(b) && target(a) == target(b) && a.Quality() == b.Quality() && a.Inversion() == b.Inversion()
}
