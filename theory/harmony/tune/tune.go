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
		if err != nil {
			panic(fmt.Sprintf("built-in weights for %s: %v", name, err))
		}
		return m
	})
}

// Default is the model for a line that comes with the program.
func Default(line Line) *Model { return models[line]() }

// Options are the chords at each note of one phrase, as likely as they are together
// with the others; none at a note for which no allowed chord is known. A charge may be nil.
func (m *Model) Options(notes []Note, key theory.Key, allowed Allowed, charge Charge) [][]Option {
	c := m.modes[key.Mode]
	p := phrase{notes: notes, key: key}
	readings := make([]harmony.Reading, len(c.states))
	for s, n := range c.states {
		readings[s] = harmony.Reading{Key: key, Numeral: n}
	}
	alone := make([][]float64, len(notes))
	for i := range notes {
		alone[i] = c.alone(c.known(p.features(i)))
		open := false
		for s, r := range readings {
			switch {
			case !allowed(i, r):
				alone[i][s] = math.Inf(-1)
				continue
			case charge != nil:
				alone[i][s] -= charge(i, r)
			}
			open = true
		}
		if !open { // what stands here is not ours to say, and says nothing about its neighbors
			clear(alone[i])
		}
	}
	through := c.through(&p, alone)
	out := make([][]Option, len(notes))
	for i := range notes {
		best := math.Inf(-1)
		for _, x := range through[i] {
			best = max(best, x)
		}
		for s, x := range through[i] {
			if allowed(i, readings[s]) && !math.IsInf(x, -1) {
				out[i] = append(out[i], Option{readings[s], best - x})
			}
		}
	}
	return out
}

// through is the best way through each chord at each note.
func (c *chain) through(p *phrase, alone [][]float64) [][]float64 {
	n, size := len(alone), len(c.states)
	ahead := make([][]float64, n)
	ahead[n-1] = make([]float64, size)
	for i := n - 1; i > 0; i-- {
		pairs := c.pairs[p.context(i)]
		ahead[i-1] = make([]float64, size)
		for r := range size {
			best := math.Inf(-1)
			for s := range size {
				best = max(best, pairs[r*size+s]+alone[i][s]+ahead[i][s])
			}
			ahead[i-1][r] = best
		}
	}
	out := make([][]float64, n)
	come := alone[0]
	for i := range n {
		if i > 0 {
			pairs := c.pairs[p.context(i)]
			next := make([]float64, size)
			for s := range size {
				best := math.Inf(-1)
				for r := range size {
					best = max(best, come[r]+pairs[r*size+s])
				}
				next[s] = best + alone[i][s]
			}
			come = next
		}
		out[i] = make([]float64, size)
		for s := range size {
			out[i][s] = come[s] + ahead[i][s]
		}
	}
	return out
}
