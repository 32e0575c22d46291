package harmony

import (
	_ "embed"
	"math"
	"strconv"
	"strings"

	"partwright/theory"
)

//go:embed counts.tsv
var countsTable string

// habits are log probabilities of numerals and their successions, in the states
// of the two vocabularies.
type habits struct {
	words [2]*vocabulary
	// pair[mode][to*states+from] is the succession within a key; a harmony does
	// not follow itself.
	pair [2][]float32
	// first and start are the distributions at the beginning of a piece and after
	// a phrase end; final and last, at a phrase end and at the end of a piece, are
	// a bonus over the usual frequency.
	first, start, final, last [2][]float32
	// exit and entry surround an abrupt change of key; older and newer are the
	// two readings of a pivot, as a bonus over the usual frequency.
	exit, entry, older, newer [2][]float32
	// stay, leap and pivot are indexed by whether a phrase has just ended.
	stay, leap, pivot [2]float32
	// heard is what a state tells of its key.
	heard [2][]settling
	// relation[from mode][to mode][fifths up + maxRelation].
	relation [2][2][2*maxRelation + 1]float32
}

// modeLetter is how counts.tsv writes the modes.
var modeLetter = [2]string{"M", "m"}

// maxRelation is the greatest distance between successive keys, in fifths.
const maxRelation = 14

// Strengths of the smoothing, in pseudo-occurrences. They are ordinary choices
// for tables of this size and were not fitted.
const (
	unseenNumeral  = 0.4 // for each numeral never met
	unseenApplied  = 0.1
	unseenSixth    = 5.0 // augmented sixths, which chorales hardly have
	sixthPairs     = 0.5
	pairPrior      = 12.0 // of the numeral's own frequency against its successions
	statePrior     = 6.0  // of the succession of numerals against that of inversions
	bonusPrior     = 30.0 // of the usual frequency against that of a place
	rarePrior      = 3.0  // draws the bonus of rare states to none
	relationPrior  = 4.0  // of a key of the same signature
	resolvesWeight = 4.0  // an applied chord goes to its target
)

func newHabits(counts map[string]float64) *habits {
	h := &habits{words: [2]*vocabulary{newVocabulary(theory.MajorMode), newVocabulary(theory.MinorMode)}}
	for mode := range h.words {
		table := h.collect(counts, mode)
		h.build(mode, table)
	}
	h.buildKeys(counts)
	return h
}

// modeCounts is the part of the counts that concerns one mode, by state.
type modeCounts struct {
	uni, first, final, last, start, exit, entry, older, newer []float64
	pair                                                      []float64
}

func (h *habits) collect(counts map[string]float64, mode int) *modeCounts {
	w := h.words[mode]
	n := w.states()
	t := &modeCounts{pair: make([]float64, n*n)}
	lists := map[string]*[]float64{"uni": &t.uni, "first": &t.first, "final": &t.final, "last": &t.last, "start": &t.start,
		"exit": &t.exit, "entry": &t.entry, "old": &t.older, "new": &t.newer}
	for _, list := range lists {
		*list = make([]float64, n)
	}
	for name, count := range counts {
		f := strings.Fields(name)
		if len(f) < 3 || f[1] != modeLetter[mode] {
			continue
		}
		at := h.state(mode, f[2])
		if at < 0 {
			continue
		}
		if f[0] == "pair" {
			if to := h.state(mode, f[3]); to >= 0 {
				t.pair[at*n+to] += count
			}
			continue
		}
		if list := lists[f[0]]; list != nil {
			(*list)[at] += count
		}
	}
	t.assumeSixths(w)
	return t
}

// assumeSixths adds what chorales hardly show: augmented sixths come from chords
// of tonic and subdominant function and go to the dominant or the six-four
// before it (Hutchinson, sec. 29.4).
func (t *modeCounts) assumeSixths(w *vocabulary) {
	n := w.states()
	for s, sixth := range w.numerals {
		if !sixth.Quality.IsAugmentedSixth() {
			continue
		}
		at := 4*s + 1
		if sixth.Quality == FrenchSixth {
			at = 4*s + 2
		}
		for i, other := range w.numerals {
			if other.IsApplied() || other.Quality.IsAugmentedSixth() {
				continue
			}
			switch {
			case other.Degree == 1 || other.Degree == 4 || other.Degree == 6 || other.Degree == 2:
				for inversion := range 3 {
					t.pair[(4*i+inversion)*n+at] += sixthPairs
				}
			case other.Degree == 5 && other.IsDominant():
				t.pair[at*n+4*i] += 4 * sixthPairs
			}
			if other.IsTonic() {
				t.pair[at*n+4*i+2] += 4 * sixthPairs
			}
		}
	}
}

// state returns the state of a numeral's text, -1 if the vocabulary lacks it.
func (h *habits) state(mode int, text string) int {
	n, err := ParseNumeral(text, theory.Mode(mode))
	if err != nil {
		return -1
	}
	i := h.words[mode].find(n)
	if i < 0 {
		return -1
	}
	return 4*i + int(n.Inversion)
}

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
	h.first[mode] = distribution(t.first, usual, false)
	h.start[mode] = distribution(t.start, usual, false)
	h.entry[mode] = distribution(t.entry, usual, false)
	h.final[mode] = distribution(t.final, usual, true)
	h.last[mode] = distribution(t.last, usual, true)
	h.exit[mode] = distribution(t.exit, usual, true)
	h.older[mode] = distribution(t.older, usual, true)
	h.newer[mode] = distribution(t.newer, usual, true)
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
