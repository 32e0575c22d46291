package voicing

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

func faultsAndCautions(t *theory.Texture) int {
	n := 0
	for _, f := range partwriting.Check(t, nil, nil) {
		if f.Severity >= partwriting.Caution {
			n++
		}
	}
	return n
}

func TestElaborationAddsNoFault(t *testing.T) {
	p := progression(Chorale(), one, six, two, fiveSix5, one, four, cadSix4, fiveSev, one)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	plain := s.Texture(&p.Style, Layout{})
	for seed := range uint64(40) {
		florid, added := Elaborate(p, s, Layout{}, Elaboration{Density: 1, Seed: seed})
		if len(added) == 0 {
			t.Fatal("nothing was added")
		}
		if before, after := faultsAndCautions(plain), faultsAndCautions(florid); after > before {
			t.Errorf("seed %d: %d findings, %d before", seed, after, before)
		}
		again, _ := Elaborate(p, s, Layout{}, Elaboration{Density: 1, Seed: seed})
		if fmt.Sprint(again.Voices) != fmt.Sprint(florid.Voices) {
			t.Errorf("seed %d does not reproduce its sheet", seed)
		}
	}
}

func TestDensityZeroChangesNothing(t *testing.T) {
	p := progression(Chorale(), one, four, five, one)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	plain, added := Elaborate(p, s, Layout{}, Elaboration{})
	if len(added) != 0 || fmt.Sprint(plain.Voices) != fmt.Sprint(s.Texture(&p.Style, Layout{}).Voices) {
		t.Errorf("a plain sheet has %d decorations", len(added))
	}
}

// The 4-3 suspension of Hutchinson, Music Theory for the 21st-Century Classroom,
// fig. 10.9.2: C is held over from I into V and falls to B.
func TestSuspension(t *testing.T) {
	p := progression(Chorale(), one, five)
	s := &Solution{Chords: []Chord{
		chord(one, "C5", "G4", "E4", "C3"),
		chord(five, "B4", "G4", "D4", "G3"),
	}}
	l := Layout{Durations: []theory.Fraction{theory.Whole(2), theory.Whole(2)}}
	texture, added := Elaborate(p, s, l, Elaboration{Density: 1, Kinds: []harmony.NoteClass{harmony.Suspension}, Voices: []int{0}})
	if len(added) != 1 || added[0].Pitch != theory.MustPitch("C5") || added[0].Onset != theory.Whole(2) {
		t.Fatalf("added %+v, want C5 held over at 2", added)
	}
	top := texture.Voices[0].Notes
	if len(top) != 2 || top[0].Duration != theory.Whole(3) || top[1].Onset != theory.Whole(3) {
		t.Errorf("soprano %+v, want C5 for three quarters, then B4", top)
	}
}
