package theorytest_test

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

func ExampleChords() {
	texture := theorytest.Chords("C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5")
	for _, v := range texture.Voices {
		fmt.Print(v.Name, ":")
		for _, n := range v.Notes {
			fmt.Print(" ", n.Pitch)
		}
		fmt.Println()
	}
	// Output:
	// S: C5 B4 C5
	// A: E4 D4 E4
	// T: G3 G3 G3
	// B: C3 G3 C3
}

func ExampleScore() {
	score := theorytest.Score(
		"Women/1/1: C5 D5*1/2 C5*1/2 B4~ | B4*2 C5*2'",
		"Women/1/2: G4*2 G4 | r E4*3")
	for _, v := range separation.FindVoices(score).Voices {
		fmt.Print(v.Name, ":")
		for _, n := range v.Notes {
			fmt.Printf(" %v for %v", n.Pitch, n.Duration)
		}
		fmt.Println()
	}
	// Output:
	// V1: C5 for 1 D5 for 1/2 C5 for 1/2 B4 for 3 C5 for 2
	// V2: G4 for 2 G4 for 1 E4 for 3
}

func TestScore(t *testing.T) {
	s := theorytest.Score("K/1/1: E4+G4*3/2~ E4+G4*1/2 [D5] C5v h - | r*4", "K/2/5: C3*5")
	if len(s.Measures) != 2 || s.Measures[0].Length != theory.Whole(5) || s.Measures[1].Onset != theory.Whole(5) {
		t.Errorf("measures %+v", s.Measures)
	}
	if s.Resolution != 2 || s.Parts[0].Staves != 2 || len(s.Parts[0].Layers) != 2 {
		t.Errorf("resolution %d, part %+v", s.Resolution, s.Parts[0])
	}
	flags := []theory.NoteFlags{
		theory.TieStart, theory.TieStart | theory.InChord, theory.TieStop, theory.TieStop | theory.InChord,
		theory.Grace, 0, theory.Rest | theory.Hidden, 0, theory.Rest,
	}
	if len(s.Notes) != len(flags) {
		t.Fatalf("%d notes, want %d", len(s.Notes), len(flags))
	}
	for i, want := range flags {
		if s.Notes[i].Flags != want {
			t.Errorf("note %d has flags %b, want %b", i, s.Notes[i].Flags, want)
		}
	}
	if s.Notes[5].Staff != 2 || s.Notes[7].Staff != 2 || s.Notes[7].Layer != 1 {
		t.Errorf("note 5 is on staff %d, note 7 on staff %d in layer %d", s.Notes[5].Staff, s.Notes[7].Staff, s.Notes[7].Layer)
	}
}

func TestScorePanics(t *testing.T) {
	for _, line := range []string{"C4", "I: X4", "I: C4*x", "I/a: C4", "I: C4*"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%q was taken", line)
				}
			}()
			theorytest.Score(line)
		}()
	}
}
