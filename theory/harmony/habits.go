package harmony

import (
	_ "embed"
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
	// expected[mode][to] is what a succession to a state is on average.
	expected [2][]float32
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
