package harmony

import (
	"sort"

	"partwright/theory"
)

// figure is how a note is reached and left, which tells what kind of foreign
// note it would be.
type figure int8

// Figures, from the least to the most in need of another explanation.
const (
	figurePassing figure = iota
	figureNeighbor
	figureHeldDown // stays and goes down by step
	figureHeldUp
	figureRepeated // stays on both sides, or into silence
	figureAnticipation
	figureLeapStepBack // by leap, on by step the other way
	figureLeapStepOn   // by leap, on by step the same way
	figureStepLeap
	figureStepEnd // by step, then silence
	figureBegins  // after silence, on by step
	figureLeaps
	numFigures
)

// melodies holds the figure of each note.
type melodies struct {
	figures [][]figure
}

func newMelodies(t *theory.Texture) *melodies {
	m := &melodies{figures: make([][]figure, len(t.Voices))}
	for v := range t.Voices {
		notes := t.Voices[v].Notes
		m.figures[v] = make([]figure, len(notes))
		for n := range notes {
			m.figures[v][n] = figureOf(notes, n)
		}
	}
	return m
}

func (m *melodies) figure(v, n int) figure { return m.figures[v][n] }

// next returns the index of the first note of a voice that begins at or after a
// moment, len(notes) if none does.
func (m *melodies) next(t *theory.Texture, moment, v int) int {
	notes, onset := t.Voices[v].Notes, t.Moments[moment].Onset
	return sort.Search(len(notes), func(i int) bool { return !notes[i].Onset.Less(onset) })
}

// step is how far a line moves in letter names; joined is false over a rest of
// a quarter note or more.
func step(a, b *theory.VoiceNote) (move int, joined bool) {
	gap := b.Onset.Sub(a.End())
	if !gap.Less(theory.Whole(1)) {
		return 0, false
	}
	i := theory.Between(a.Pitch, b.Pitch)
	if i.Steps == 0 && i.Semitones != 0 {
		// A chromatic semitone moves as a step does.
		if i.Semitones > 0 {
			return 1, true
		}
		return -1, true
	}
	return i.Steps, true
}

func figureOf(notes []theory.VoiceNote, n int) figure {
	in, after := 0, 0
	reached, left := false, false
	if n > 0 {
		in, reached = step(&notes[n-1], &notes[n])
	}
	if n+1 < len(notes) {
		after, left = step(&notes[n], &notes[n+1])
	}
	isStep := func(s int) bool { return s == 1 || s == -1 }
	switch {
	case !reached && !left:
		return figureLeaps
	case !left && isStep(in):
		return figureStepEnd
	case !left && in == 0:
		return figureRepeated
	case !left:
		return figureLeaps
	case !reached && isStep(after):
		return figureBegins
	case !reached && after == 0:
		return figureRepeated
	case !reached:
		return figureLeaps
	case in == 0 && after == -1:
		return figureHeldDown
	case in == 0 && after == 1:
		return figureHeldUp
	case in == 0 && after == 0:
		return figureRepeated
	case after == 0:
		return figureAnticipation
	case isStep(in) && isStep(after) && in == after:
		return figurePassing
	case isStep(in) && isStep(after):
		return figureNeighbor
	case isStep(after) && (in > 0) != (after > 0):
		return figureLeapStepBack
	case isStep(after):
		return figureLeapStepOn
	case isStep(in):
		return figureStepLeap
	}
	return figureLeaps
}
