package harmony

import (
	"math"
	"strconv"

	"partwright/theory"
)

func (h *habits) build(mode int, t *modeCounts) {
	w := h.words[mode]
	count := len(w.numerals)
	n := 4 * count
	numeral := make([]float64, count) // frequency of each numeral
	shape := make([]float64, n)       // of each inversion within its numeral
	total := 0.0
	for i := range numeral {
		numeral[i] = unseenNumeral
		switch {
		case w.numerals[i].IsApplied():
			numeral[i] = unseenApplied
		case w.numerals[i].Quality.IsAugmentedSixth():
			numeral[i] = unseenSixth
		}
		sum := 0.0
		for inv := range 4 {
			sum += t.uni[4*i+inv] + inversionPrior(w.numerals[i], inv)
			numeral[i] += t.uni[4*i+inv]
		}
		for inv := range 4 {
			shape[4*i+inv] = (t.uni[4*i+inv] + inversionPrior(w.numerals[i], inv)) / sum
		}
		total += numeral[i]
	}
	for i := range numeral {
		numeral[i] /= total
	}
	h.heard[mode] = make([]settling, n)
	for s := range h.heard[mode] {
		n := w.numerals[s/4]
		switch {
		case n.IsDominant() && !n.IsApplied():
			h.heard[mode][s] = heardDominant
		case n.IsTonic() && s%4 < 2:
			h.heard[mode][s] = heardTonic
		}
	}
	h.pair[mode] = h.buildPairs(w, t, numeral, shape)
	usual := func(s int) float64 { return numeral[s/4] * shape[s] }
	h.expected[mode] = expected(h.pair[mode], usual)
	h.first[mode] = distribution(t.first, usual, false)
	h.start[mode] = distribution(t.start, usual, false)
	h.entry[mode] = distribution(t.entry, usual, false)
	h.final[mode] = distribution(t.final, usual, true)
	h.last[mode] = distribution(t.last, usual, true)
	h.exit[mode] = distribution(t.exit, usual, true)
	h.older[mode] = distribution(t.older, usual, true)
	h.newer[mode] = distribution(t.newer, usual, true)
}

// expected is the mean of the successions to each state, by how often it is reached so.
func expected(pair []float32, usual func(int) float64) []float32 {
	n := int(math.Sqrt(float64(len(pair))))
	out := make([]float32, n)
	for to := range n {
		sum, all := 0.0, 0.0
		for from, log := range pair[to*n : (to+1)*n] {
			p := usual(from) * math.Exp(float64(log))
			sum, all = sum+p*float64(log), all+p
		}
		out[to] = float32(sum / all)
	}
	return out
}

// inversionPrior is what is assumed before any count: sixths are common, fourths
// above the bass rare.
func inversionPrior(n Numeral, inversion int) float64 {
	switch {
	case inversion >= n.Quality.Size():
		return 1e-9
	case n.Quality.IsAugmentedSixth():
		if inversion == 1 && n.Quality != FrenchSixth || inversion == 2 && n.Quality == FrenchSixth {
			return 4
		}
		return 0.05
	case !n.Quality.IsSeventh():
		return [3]float64{2, 1.2, 0.4}[inversion]
	}
	return [4]float64{1.2, 1, 0.6, 0.6}[inversion]
}

// distribution smooths counts with the usual frequencies and returns logs, or,
// as a bonus, logs of the ratio to them.
func distribution(counts []float64, usual func(int) float64, bonus bool) []float32 {
	sum := 0.0
	for _, c := range counts {
		sum += c
	}
	out := make([]float32, len(counts))
	for s, c := range counts {
		u := math.Max(usual(s), 1e-9)
		p := (c + bonusPrior*u) / (sum + bonusPrior)
		if bonus {
			p = (c + rarePrior) / (sum*u + rarePrior)
		}
		out[s] = float32(math.Log(p))
	}
	return out
}

func (h *habits) buildPairs(w *vocabulary, t *modeCounts, numeral, shape []float64) []float32 {
	count := len(numeral)
	n := 4 * count
	out := make([]float32, n*n)
	between := make([]float64, count)
	for a := range count {
		seen := 0.0
		for b := range count {
			between[b] = resolvesWeight * resolves(w, a, b)
			met := 0.0
			for ia := range 4 {
				for ib := range 4 {
					met += t.pair[(4*a+ia)*n+4*b+ib]
				}
			}
			if between[b] += met; met > 0 {
				seen++
			}
		}
		// The more different successors there are, the likelier is a new one.
		prior, sum := math.Max(pairPrior, seen), 0.0
		for b := range count {
			between[b] += prior * numeral[b]
			sum += between[b]
		}
		for ia := range 4 {
			from := 4*a + ia
			met, kinds := 0.0, 0.0
			for to := range n {
				if c := t.pair[from*n+to]; c > 0 {
					met, kinds = met+c, kinds+1
				}
			}
			prior := math.Max(statePrior, kinds)
			for to := range n {
				p := between[to/4] / sum * shape[to]
				p = (t.pair[from*n+to] + prior*p) / (met + prior)
				out[to*n+from] = float32(math.Log(math.Max(p, 1e-12)))
			}
		}
	}
	return out
}

// resolves tells how usual it is that an applied chord goes on to another: 1 to
// the triad it applies to, a little less to a dominant on that degree, as in a
// chain of dominants (Hutchinson, sec. 29.1).
func resolves(w *vocabulary, a, b int) float64 {
	from, to := w.numerals[a], w.numerals[b]
	if !from.IsApplied() || to.Quality.IsAugmentedSixth() {
		return 0
	}
	home := theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: w.mode}
	switch goal := from.In(home).Tonic; {
	case to.Root(home) != goal:
		return 0
	case !to.IsApplied():
		return 1
	case to.Quality == DominantSeventh:
		return 0.5
	}
	return 0
}

func (h *habits) buildKeys(counts map[string]float64) {
	for i, where := range [2]string{"inside", "phrase"} {
		stay, leap, pivot := counts["stay "+where], counts["leap "+where+" "]+counts["leap "+where], counts["pivot "+where]
		all := stay + leap + pivot + 3
		h.stay[i] = float32(math.Log((stay + 1) / all))
		h.leap[i] = float32(math.Log((leap + 1) / all))
		h.pivot[i] = float32(math.Log((pivot + 1) / all))
	}
	// A pivot is counted where it stands, which is never right after a phrase.
	h.pivot[1] = h.pivot[0]
	for from := range 2 {
		sum := 0.0
		var c [2][2*maxRelation + 1]float64
		for to := range 2 {
			for d := range c[to] {
				name := "rel " + strconv.Itoa(d-maxRelation) + " " + modeLetter[from] + " " + modeLetter[to]
				// Keys whose signatures are near are likelier, met or not.
				far := math.Abs(float64(d - maxRelation - 3*(to-from)))
				c[to][d] = counts[name] + relationPrior*math.Exp(-far/2)
				sum += c[to][d]
			}
		}
		for to := range 2 {
			for d := range c[to] {
				h.relation[from][to][d] = float32(math.Log(c[to][d] / sum))
			}
		}
	}
}
