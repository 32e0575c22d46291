package voicing

import (
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// The parallel octaves of Butterfield, Integrated Music Theory, unit 10b, are
// mended by moving one note to another member of its chord.
func TestMendParallels(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4 | G2 B3 F4 B4 | C3 C4 E4 C5")
	labels := []harmony.Label{}
	for k, n := range []harmony.Numeral{one, two, fiveSev, one} {
		labels = append(labels, harmony.Label{Onset: theory.Whole(int64(k)), Reading: reading(n)})
	}
	analysis := harmony.Assume(texture, labels)
	before := 0
	for _, f := range partwriting.Check(texture, analysis, nil) {
		if f.Severity == partwriting.Fault {
			before++
		}
	}
	if before == 0 {
		t.Fatal("the example has no fault")
	}
	m := Mend(texture, analysis, MendOptions{})
	if len(m.Left) != 0 {
		t.Errorf("%d faults are left, the first: %s", len(m.Left), m.Left[0].Rule)
	}
	if len(m.Edits) == 0 || len(m.Edits) > 4 {
		t.Errorf("%d notes were changed", len(m.Edits))
	}
	for _, e := range m.Edits {
		t.Logf("voice %d note %d: %v to %v", e.Note.Voice, e.Note.Note, texture.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch, e.To)
	}
}

func TestMendKeepsGivenVoices(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 D4 F4")
	m := Mend(texture, nil, MendOptions{Keep: []int{0, 3}})
	for _, e := range m.Edits {
		if e.Note.Voice == 0 || e.Note.Voice == 3 {
			t.Errorf("a given voice was changed: %+v", e)
		}
	}
	if len(m.Left) != 0 {
		t.Errorf("%d faults are left", len(m.Left))
	}
}

func TestMendLeavesCleanMusicAlone(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5")
	if m := Mend(texture, nil, MendOptions{}); len(m.Edits) != 0 {
		t.Errorf("%d notes were changed: %+v", len(m.Edits), m.Edits)
	}
}
