package harmony

import (
	"strings"
	"testing"

	"partwright/theory"
)

// What a note is that is foreign to the harmony it is struck in, by the move that
// leads to it and the one that leaves it; r is a rest of a quarter. The definitions
// are those of Hutchinson, Music Theory for the 21st-Century Classroom, ch. 10, and
// Butterfield, Integrated Music Theory, unit 9; what silence and leaps on both
// sides give has no name in either.
func TestForeignNotes(t *testing.T) {
	for _, test := range []struct {
		line   string // the note in the middle is meant
		class  NoteClass
		figure figure
	}{
		{"E4 D4 C4", Passing, figurePassing},
		{"C4 D4 E4", Passing, figurePassing},
		{"C4 C#4 D4", Passing, figurePassing}, // a chromatic semitone is a step
		{"C4 D4 C4", Neighbor, figureNeighbor},
		{"C4 B3 C4", Neighbor, figureNeighbor},
		{"C4 C4 B3", Suspension, figureHeldDown},
		{"B3 B3 C4", Retardation, figureHeldUp},
		{"C4 C4 C4", PedalTone, figureRepeated},
		{"D4 C4 C4", Anticipation, figureAnticipation},
		{"B3 C4 C4", Anticipation, figureAnticipation},
		{"E4 C4 C4", Anticipation, figureAnticipation},
		{"G3 C4 C4", Anticipation, figureAnticipation},
		{"E4 A4 G4", Appoggiatura, figureLeapStepBack},
		{"E4 B3 C4", Appoggiatura, figureLeapStepBack},
		{"C4 F4 G4", IncompleteNeighbor, figureLeapStepOn},
		{"G4 D4 C4", IncompleteNeighbor, figureLeapStepOn},
		{"r D4 C4", IncompleteNeighbor, figureBegins},
		{"r D4 E4", IncompleteNeighbor, figureBegins},
		{"D4 E4 C4", EscapeTone, figureStepLeap},
		{"D4 E4 G4", EscapeTone, figureStepLeap},
		{"D4 C4 A3", EscapeTone, figureStepLeap},
		{"D4 C4 E4", EscapeTone, figureStepLeap},
		{"D4 E4 r", OtherNonchord, figureStepEnd},
		{"E4 D4 r", OtherNonchord, figureStepEnd},
		{"D4 D4 r", OtherNonchord, figureRepeated},
		{"r D4 D4", OtherNonchord, figureRepeated},
		{"r D4 r", OtherNonchord, figureLeaps},
		{"r D4 G4", OtherNonchord, figureLeaps},
		{"r D4 A3", OtherNonchord, figureLeaps},
		{"G4 D4 r", OtherNonchord, figureLeaps},
		{"A3 D4 r", OtherNonchord, figureLeaps},
		{"D4 D4 A3", OtherNonchord, figureLeaps},
		{"D4 D4 G4", OtherNonchord, figureLeaps},
		{"A3 D4 G4", OtherNonchord, figureLeaps},
		{"A3 D4 A3", OtherNonchord, figureLeaps},
		{"G4 D4 G4", OtherNonchord, figureLeaps},
		{"G4 D4 A3", OtherNonchord, figureLeaps},
	} {
		var notes []theory.VoiceNote
		middle := 0
		for i, word := range strings.Fields(test.line) {
			if word == "r" {
				continue
			}
			if i == 1 {
				middle = len(notes)
			}
			notes = append(notes, theory.VoiceNote{Pitch: theory.MustPitch(word), Onset: theory.Whole(int64(i)), Duration: theory.Whole(1)})
		}
		in, out := movesAt(notes, middle)
		if got := foreignNotes[in][out]; got != (foreignNote{test.figure, test.class}) {
			t.Errorf("%s: %v and figure %d, want %v and figure %d", test.line, got.class, got.figure, test.class, test.figure)
		}
	}
}

// Turned upside down a line has the same figures, but that a suspension, which
// falls, becomes a retardation, which rises.
func TestForeignNotesUpsideDown(t *testing.T) {
	turned := [numMoves]melodicMove{overRest: overRest, onOnePitch: onOnePitch, stepDown: stepUp, stepUp: stepDown, leapDown: leapUp, leapUp: leapDown}
	for in := range numMoves {
		for out := range numMoves {
			want := foreignNotes[in][out]
			if want.class == ChordTone || want.class == Unread {
				t.Errorf("moves %d and %d have no line in the table", in, out)
			}
			switch want.figure {
			case figureHeldDown:
				want = foreignNote{figureHeldUp, Retardation}
			case figureHeldUp:
				want = foreignNote{figureHeldDown, Suspension}
			}
			if got := foreignNotes[turned[in]][turned[out]]; got != want {
				t.Errorf("moves %d and %d upside down are %v with figure %d, want %v with %d", in, out, got.class, got.figure, want.class, want.figure)
			}
		}
	}
}
