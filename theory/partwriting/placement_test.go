package partwriting_test

import (
	"fmt"
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

func TestRangeIsToldOnceInAPhrase(t *testing.T) {
	texture := theorytest.Chords("D2 G3 D4 B4 | C2 G3 E4 C5 | D2 G3 D4 B4' | C2 G3 E4 C5")
	var got []string
	for _, f := range partwriting.Check(texture, nil, nil) {
		if f.Rule == "range" {
			got = append(got, fmt.Sprintf("%v with %d more", f.Onset, len(f.Related)))
		}
	}
	if want := "[1 with 2 more 3 with 0 more]"; fmt.Sprint(got) != want {
		t.Errorf("%v, want %v: the bass at its lowest note, once in each phrase", got, want)
	}
}

func TestCrossingIsToldOnceWhileANoteIsHeld(t *testing.T) {
	texture := theorytest.Chords("C3 D4 B3 G4 | C3 . C4 G4 | C3 B3 C4 G4")
	n := 0
	for _, f := range partwriting.Check(texture, nil, nil) {
		if f.Rule == "voice-crossing" {
			n++
			if f.Severity != partwriting.Caution {
				t.Errorf("severity %v between inner voices, want a caution", f.Severity)
			}
		}
	}
	if n != 1 {
		t.Errorf("%d crossings, want 1: the tenor holds its note above the alto", n)
	}
}
