package main

import (
	"math/rand/v2"
	"testing"

	"partwright/theory/harmony"
)

// Music made of labels sounds what they say: at each label's onset its bass lies
// lowest and its root sounds, suspensions apart.
func TestRealizedMusicSaysItsLabels(t *testing.T) {
	labels, err := harmony.ReadRomanText(`Time Signature: 4/4

m0 b4 G: I
m1 V6 b2 I b3 IV b4 ii65
m2 V b2 V7 b3 I ||
m3 vi || D: ii b3 V7
m4 I
`)
	if err != nil {
		t.Fatal(err)
	}
	z := &realizer{rand.New(rand.NewPCG(1, 2))}
	for range 20 {
		e := z.realize("", labels)
		placed := e.labels.Place(e.texture)
		if len(placed) != len(labels.Entries) {
			t.Fatalf("%d of %d labels have a place", len(placed), len(labels.Entries))
		}
		for _, p := range placed {
			found := false
			bass := e.texture.Voices[3].Notes
			for n := range bass {
				if bass[n].Onset == p.Onset {
					found = bass[n].Pitch.Class() == p.Bass()
				}
			}
			if !found {
				t.Errorf("%s at %s has another bass", p.Reading, p.Onset)
			}
		}
	}
}
