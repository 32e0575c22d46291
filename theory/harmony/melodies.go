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
			t.Score.Work.Step(1)
			in, out := movesAt(notes, n)
			m.figures[v][n] = foreignNotes[in][out].figure
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

// isStep reports whether a move in letter names is one to a neighbor.
func isStep(letters int) bool { return letters == 1 || letters == -1 }

// approach returns how a line comes to a note and goes on, in letter names.
func approach(notes []theory.VoiceNote, n int) (in, out int, reached, left bool) {
	if n > 0 {
		in, reached = step(&notes[n-1], &notes[n])
	}
	if n+1 < len(notes) {
		out, left = step(&notes[n], &notes[n+1])
	}
	return in, out, reached, left
}

// melodicMove is how a line comes to a note or leaves it.
type melodicMove int8

// Moves.
const (
	overRest melodicMove = iota // none: there is silence, or the line begins or ends
	onOnePitch
	stepDown
	stepUp
	leapDown
	leapUp
	numMoves
)

func moveOf(letters int, joined bool) melodicMove {
	switch {
	case !joined:
		return overRest
	case letters == 0:
		return onOnePitch
	case letters == -1:
		return stepDown
	case letters == 1:
		return stepUp
	case letters < 0:
		return leapDown
	}
	return leapUp
}

// movesAt returns how a line comes to a note and how it goes on.
func movesAt(notes []theory.VoiceNote, n int) (in, out melodicMove) {
	letters, on, reached, left := approach(notes, n)
	return moveOf(letters, reached), moveOf(on, left)
}

// foreignNote is what a note would be that is foreign to the harmony it is struck
// in: a figure in the search for the harmonies, a class once they are found.
type foreignNote struct {
	figure figure
	class  NoteClass
}

// foreignNotes tells it by the move that leads to the note (rows) and the move that
// leaves it (columns). The classes are those of Hutchinson, ch. 10, and Butterfield,
// unit 9; what has no name there is [OtherNonchord].
var foreignNotes = [numMoves][numMoves]foreignNote{
	overRest: {
		overRest:   {figureLeaps, OtherNonchord},
		onOnePitch: {figureRepeated, OtherNonchord},
		stepDown:   {figureBegins, IncompleteNeighbor},
		stepUp:     {figureBegins, IncompleteNeighbor},
		leapDown:   {figureLeaps, OtherNonchord},
		leapUp:     {figureLeaps, OtherNonchord},
	},
	onOnePitch: {
		overRest:   {figureRepeated, OtherNonchord},
		onOnePitch: {figureRepeated, PedalTone},
		stepDown:   {figureHeldDown, Suspension},
		stepUp:     {figureHeldUp, Retardation},
		leapDown:   {figureLeaps, OtherNonchord},
		leapUp:     {figureLeaps, OtherNonchord},
	},
	stepDown: {
		overRest:   {figureStepEnd, OtherNonchord},
		onOnePitch: {figureAnticipation, Anticipation},
		stepDown:   {figurePassing, Passing},
		stepUp:     {figureNeighbor, Neighbor},
		leapDown:   {figureStepLeap, EscapeTone},
		leapUp:     {figureStepLeap, EscapeTone},
	},
	stepUp: {
		overRest:   {figureStepEnd, OtherNonchord},
		onOnePitch: {figureAnticipation, Anticipation},
		stepDown:   {figureNeighbor, Neighbor},
		stepUp:     {figurePassing, Passing},
		leapDown:   {figureStepLeap, EscapeTone},
		leapUp:     {figureStepLeap, EscapeTone},
	},
	leapDown: {
		overRest:   {figureLeaps, OtherNonchord},
		onOnePitch: {figureAnticipation, Anticipation},
		stepDown:   {figureLeapStepOn, IncompleteNeighbor},
		stepUp:     {figureLeapStepBack, Appoggiatura},
		leapDown:   {figureLeaps, OtherNonchord},
		leapUp:     {figureLeaps, OtherNonchord},
	},
	leapUp: {
		overRest:   {figureLeaps, OtherNonchord},
		onOnePitch: {figureAnticipation, Anticipation},
		stepDown:   {figureLeapStepBack, Appoggiatura},
		stepUp:     {figureLeapStepOn, IncompleteNeighbor},
		leapDown:   {figureLeaps, OtherNonchord},
		leapUp:     {figureLeaps, OtherNonchord},
	},
}
