// Package tune says which chords may stand under the notes of a melody, or over those of a
// bass, and how well.
//
// What it knows is a conditional random field over the chords of a phrase: weights for a
// chord beside the notes around it and its place in the phrase, and for one chord after
// another. See the heads of weights.tsv and bass.tsv for where they come from.
package tune

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"sync"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Line is which line the notes are of.
type Line int8

// Lines.
const (
	Melody Line = iota
	Bass
)

// Note is a note of a line that takes a chord.
type Note struct {
	Pitch theory.Pitch
	// Strength is that of its place in the metre ([theory.TimeSignature.Strength]).
	Strength int
}

// Option is a chord for a note. Behind is how much less likely the best way through
// the phrase with this chord is than the best of all, in natural logarithms.
type Option struct {
	harmony.Reading
	Behind float64
}

// Allowed says whether a chord may be used at the note with an index.
type Allowed func(note int, r harmony.Reading) bool

// Charge is how much less likely a chord is to count at the note with an index than it is,
// in natural logarithms.
type Charge func(note int, r harmony.Reading) float64

// Model holds the weights for both modes.
type Model struct{ modes [2]*chain }

//go:embed weights.tsv
var melodyWeights string

//go:embed bass.tsv
var bassWeights string

var models = [...]func() *Model{Melody: builtIn("melodies", &melodyWeights), Bass: builtIn("basses", &bassWeights)}

func builtIn(name string, weights *string) func() *Model {
	return sync.OnceValue(func() *Model {
		m, err := Read(strings.NewReader(*weights))
		if err == nil {
			err = m.complete()
		}
		if err != nil {
			panic(fmt.Sprintf("built-in weights for %s: %v; fit them by \"go run ./worker/fitharmony %s\" and build again", name, err, name))
		}
		return m
	})
}

// Default is the model for a line that comes with the program.
func Default(line Line) *Model { return models[line]() }

// Options are the chords at each note of one phrase, as likely as they are together
// with the others; none at a note for which no allowed chord is known. A charge may be nil.
func (m *Model) Options(notes []Note, key theory.Key, allowed Allowed, charge Charge) [][]Option {
	return m.Weigh(notes, key, allowed, charge).Options()
}

// Weighed is one phrase with what speaks for each chord at each of its notes.
type Weighed struct {
	*chain
	phrase
	readings []harmony.Reading
	index    map[harmony.Reading]int
	allowed  Allowed
	// alone is what speaks for each chord at a note, ahead for the best way from there on,
	// without the chord itself.
	alone, ahead [][]float64
}

// Weigh weighs the chords at each note of one phrase. A charge may be nil.
func (m *Model) Weigh(notes []Note, key theory.Key, allowed Allowed, charge Charge) *Weighed {
	c := m.modes[key.Mode]
	w := &Weighed{chain: c, phrase: phrase{notes: notes, key: key}, allowed: allowed, index: map[harmony.Reading]int{}}
	for s, n := range c.states {
		r := harmony.Reading{Key: key, Numeral: n}
		w.index[r] = s
		w.readings = append(w.readings, r)
	}
	for i := range notes {
		alone := c.alone(c.known(w.phrase.features(i)))
		open := false
		for s, r := range w.readings {
			switch {
			case !allowed(i, r):
				alone[s] = math.Inf(-1)
				continue
			case charge != nil:
				alone[s] -= charge(i, r)
			}
			open = true
		}
		if !open { // what stands here is not ours to say, and says nothing about its neighbors
			clear(alone)
		}
		w.alone = append(w.alone, alone)
	}
	w.look()
	return w
}

// look finds the best ways on.
func (w *Weighed) look() {
	n, size := len(w.alone), len(w.states)
	w.ahead = make([][]float64, n)
	w.ahead[n-1] = make([]float64, size)
	for i := n - 1; i > 0; i-- {
		pairs := w.pairs[w.context(i)]
		w.ahead[i-1] = make([]float64, size)
		onward := make([]float64, size)
		for s := range size {
			onward[s] = w.alone[i][s] + w.ahead[i][s]
		}
		for r := range size {
			best := math.Inf(-1)
			for s, x := range pairs[r*size : r*size+size] {
				if x += onward[s]; x > best {
					best = x
				}
			}
			w.ahead[i-1][r] = best
		}
	}
}

// Options are the chords at each note, as likely as they are together with the others; none
// at a note for which no allowed chord is known.
func (w *Weighed) Options() [][]Option {
	through := w.through()
	out := make([][]Option, len(w.notes))
	for i := range w.notes {
		best := math.Inf(-1)
		for _, x := range through[i] {
			best = max(best, x)
		}
		for s, x := range through[i] {
			if w.allowed(i, w.readings[s]) && !math.IsInf(x, -1) {
				out[i] = append(out[i], Option{w.readings[s], best - x})
			}
		}
	}
	return out
}

// Behind is how much less likely the best way through the phrase is that goes from a chord
// to another at a note than the best one from that chord, in natural logarithms: 0 for the
// best. From a chord that the model does not know it is as from the best one for the second; to
// one that it does not know it is 0. For a phrase, what [Weighed.Options] has at
// its first note and these along the way add up to how far the way is behind the best.
func (w *Weighed) Behind(note int, from, to harmony.Reading) float64 {
	s, ok := w.index[to]
	if !ok {
		return 0
	}
	if r, ok := w.index[from]; ok {
		return w.step(note, r, s)
	}
	best := math.Inf(1)
	for r := range w.states {
		if x := w.step(note, r, s); x < best {
			best = x
		}
	}
	return best
}

func (w *Weighed) step(note, r, s int) float64 {
	return w.ahead[note-1][r] - w.pairs[w.context(note)][r*len(w.states)+s] - w.alone[note][s] - w.ahead[note][s]
}

// through is the best way through each chord at each note.
func (w *Weighed) through() [][]float64 {
	n, size := len(w.alone), len(w.states)
	out := make([][]float64, n)
	come := w.alone[0]
	for i := range n {
		if i > 0 {
			pairs := w.pairs[w.context(i)]
			next := make([]float64, size)
			for s := range next {
				next[s] = math.Inf(-1)
			}
			for r, before := range come {
				for s, x := range pairs[r*size : r*size+size] {
					if x += before; x > next[s] {
						next[s] = x
					}
				}
			}
			for s := range next {
				next[s] += w.alone[i][s]
			}
			come = next
		}
		out[i] = make([]float64, size)
		for s := range size {
			out[i][s] = come[s] + w.ahead[i][s]
		}
	}
	return out
}
