package harmony

import (
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// The figures follow Hutchinson, Music Theory for the 21st-Century Classroom,
// ch. 10 and 28; quarter-note columns stand for the book's eighths.
func TestNoteClasses(t *testing.T) {
	cases := []struct {
		why, music string
		voice      int // from the top
		note       int
		want       NoteClass
		figures    string
	}{
		{"passing from E to C over I", "C3 G3 C4 E4 | . . . D4 | . . . C4 | . . . . | G2 G3 B3 D4 | . . . . | C3 G3 C4 E4", 0, 1, Passing, ""},
		{"neighbor above E over I", "C3 G3 C4 E4 | . . . F4 | . . . E4 | . . . . | G2 G3 B3 D4 | . . . . | C3 G3 C4 E4", 0, 1, Neighbor, ""},
		{"4-3 over V", "C3 E4 G4 C5 | . . . . | G3 D4 G4 . | G3 D4 G4 B4 | C3 E4 G4 C5 | . . . .", 0, 0, Suspension, "4-3"},
		{"9-8 over I", "G3 G4 B4 D5 | . . . . | C4 E4 G4 . | C4 E4 G4 C5 | . . . .", 0, 0, Suspension, "9-8"},
		{"a bass that waits is 2-3", "C3 E4 G4 C5 | . . . . | . D4 G4 D5 | B2 D4 G4 D5 | C3 E4 G4 C5 | . . . .", 3, 0, Suspension, "2-3"},
		{"chord tones stay chord tones", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5", 0, 1, ChordTone, ""},
	}
	for _, c := range cases {
		a := Analyze(theorytest.Chords(c.music))
		got := a.Notes[c.voice][c.note]
		if got.Class != c.want || got.Figures != c.figures {
			t.Errorf("%s: %s %q in %s, want %s %q", c.why, got.Class, got.Figures, numerals(a), c.want, c.figures)
		}
	}
}

// Definitions and examples: Butterfield, Integrated Music Theory, unit 8.
func TestCadences(t *testing.T) {
	cases := []struct {
		why, music string
		want       CadenceKind
	}{
		{"V7-I in root position, tonic on top", "G2 B3 G4 D5 | D3 D4 F#4 A4 | D3 C4 F#4 A4 | G2 B3 G4 G4", PerfectAuthentic},
		{"third on top", "G2 B3 D4 G4 | E3 G3 B3 G4 | D3 F#3 D4 A4 | G2 G3 D4 B4", ImperfectAuthentic},
		{"inverted dominant", "G2 G3 B3 G4 | C3 G3 C4 E4 | F#2 A3 D4 F#4 | G2 G3 D4 G4", ImperfectAuthentic},
		{"phrase ends on V", "G2 B3 D4 G4 | C3 E4 G4 C5 | G2 D4 G4 B4 | D3 D4 F#4 A4", Half},
		{"IV-I", "G2 D3 B3 G4 | D3 F#3 D4 A4 | G2 G3 B3 G4 | C3 E3 C4 G4 | G2 D3 B3 G4", Plagal},
		{"V7-vi", "G2 D4 G4 B4 | C3 G3 E4 E4 | D3 A3 C4 F#4 | E3 G3 B3 G4", Deceptive},
	}
	for _, c := range cases {
		a := Analyze(theorytest.Chords(c.music))
		if len(a.Cadences) != 1 || a.Cadences[0].Kind != c.want {
			t.Errorf("%s: %+v in %s, want %s", c.why, a.Cadences, numerals(a), c.want)
		}
	}
	a := Analyze(theorytest.Chords("C3 C4 Eb4 G4 | G2 B3 D4 G4 | C3 C4 Eb4 G4 | Ab2 C4 C4 F4 | G2 B3 D4 G4"))
	if c := a.Cadences[0]; c.Kind != Half || !c.Phrygian || c.Key != theory.MinorKey(theory.PitchClass{Step: theory.C}) {
		t.Errorf("iv6-V in minor is the Phrygian half cadence: %+v", c)
	}
}
