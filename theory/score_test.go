package theory_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

func TestMeasureAt(t *testing.T) {
	score := theorytest.Score("I: C5 | D5 E5 F5 G5 | r*0 | A5*4")
	if n := len(score.Measures); n != 4 {
		t.Fatalf("%d measures, want 4", n)
	}
	tests := []struct {
		onset theory.Fraction
		want  int
		why   string
	}{
		{theory.Whole(0), 0, "the pickup"},
		{theory.Frac(1, 2), 0, "inside it"},
		{theory.Whole(1), 1, "a bar line belongs to the measure it opens"},
		{theory.Frac(9, 2), 1, "inside the second"},
		{theory.Whole(5), 3, "an empty measure shares its onset with the next, which holds the music"},
		{theory.Whole(99), 3, "past the end"},
	}
	for _, tt := range tests {
		if got := score.MeasureAt(tt.onset).Index; got != tt.want {
			t.Errorf("%v is in measure %d, want %d: %s", tt.onset, got, tt.want, tt.why)
		}
	}
	if score.End() != theory.Whole(9) || (&theory.Score{}).End() != theory.Whole(0) {
		t.Errorf("the score ends at %v", score.End())
	}
}

func TestSounds(t *testing.T) {
	for flag, want := range map[theory.NoteFlags]bool{
		0: true, theory.InChord: true, theory.TieStop: true, theory.Hidden: true, theory.Fermata: true,
		theory.Rest: false, theory.Grace: false, theory.Cue: false, theory.Unpitched: false, theory.Microtone: false,
	} {
		if n := (theory.Note{Flags: flag}); n.Sounds() != want {
			t.Errorf("a note with flag %b sounds: %v", flag, n.Sounds())
		}
	}
	both := theory.TieStart | theory.TieStop
	if !both.Has(theory.TieStart) || theory.TieStart.Has(both) || !theory.TieStart.Any(both) {
		t.Error("Has wants all properties, Any one of them")
	}
}
