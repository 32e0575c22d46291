package voicing

import (
	"testing"

	"partwright/theory"
)

// Over a phrase of nine chords the soprano of a chorale (comfortable from E4 to E5,
// middle Bb4) may stand at most near the middle at both ends and highest at the
// sixth; there the floor comes up above it.
func TestArch(t *testing.T) {
	p := progression(Chorale(), chords(9)...)
	var ceilings []int
	for k := range p.Slots {
		ceilings = append(ceilings, p.archAt(k).ceiling)
	}
	highest := 0
	for k, c := range ceilings {
		if c > ceilings[highest] {
			highest = k
		}
	}
	if highest != 5 {
		t.Errorf("ceilings %v are highest at %d, want 5", ceilings, highest)
	}
	middle := theory.MustPitch("Bb4").Semitones()
	for _, k := range []int{0, 8} {
		if d := ceilings[k] - middle; d < 0 || d > 2 {
			t.Errorf("at chord %d the ceiling is %d semitones over the middle", k, d)
		}
	}
	if p.archAt(5).floor <= middle || p.archAt(0).floor >= middle {
		t.Errorf("floors %d at the start, %d at the climax", p.archAt(0).floor, p.archAt(5).floor)
	}
	p.Slots[3].PhraseEnd = true
	if a := p.archAt(2); a.ceiling != p.Style.Voices[0].High.Semitones() {
		t.Errorf("a phrase of four chords has an arch: %v", a)
	}
}

// With a heavy arch the soprano climbs to one climax in the middle of the phrase,
// which it does not with none.
func TestArchShapesTheSoprano(t *testing.T) {
	peak := func(weight Cost) (highest int, rise int) {
		p := progression(Chorale(), one, six, four, one, four, two, five, six, five, one)
		p.Style.Weights.Arch = weight
		s, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		e, err := explained(p, s)
		if err != nil {
			t.Fatal(err)
		}
		top := e.Soprano[e.Highest]
		t.Log(weight, e.Soprano)
		return e.Highest, top.Semitones() - max(e.Soprano[0].Semitones(), e.Soprano[len(e.Soprano)-1].Semitones())
	}
	_, without := peak(0)
	at, with := peak(400)
	if at < 3 || at > 8 || with <= without || with < 2 {
		t.Errorf("the climax is at chord %d, %d semitones above the ends; without an arch %d", at, with, without)
	}
}
