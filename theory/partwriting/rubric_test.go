package partwriting_test

import (
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// The marks of Butterfield's example of parallel fifths (unit 10b, example 2)
// under two published schemes: four chords at three points each, less three for
// either pair of fifths; a hundred, less three for either.
func TestRubrics(t *testing.T) {
	music := "C: I C3 G3 E4 C5 | ii D3 A3 F4 A4 | V7 G3 D4 F4 B4 | I C3 C4 E4 C5"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	findings := partwriting.Check(texture, analysis, nil)
	passage := partwriting.NewPassage(texture, analysis, nil)
	for name, want := range map[string]string{"points-a-chord": "6 of 12", "hundred": "94 of 100"} {
		rubric, ok := partwriting.RubricByName(name)
		if !ok {
			t.Fatalf("no rubric %s", name)
		}
		if got := rubric.Grade(passage, findings); got.String() != want || len(got.Lines) != 1 || got.Lines[0].Count != 2 {
			t.Errorf("%s: %v %+v, want %s", name, got, got.Lines, want)
		}
	}
}

// A doubled leading tone and the octaves it makes are one fault.
func TestRubricCountsOneFaultOnce(t *testing.T) {
	music := "C: V G2 B3 D4 B4 | I C3 C4 E4 C5 ||"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	findings := partwriting.Check(texture, analysis, nil)
	rubric, _ := partwriting.RubricByName("hundred")
	got := rubric.Grade(partwriting.NewPassage(texture, analysis, nil), findings)
	if got.String() != "97 of 100" {
		t.Errorf("%v, want 97 of 100: %+v", got, got.Lines)
	}
}

func TestRubricLimits(t *testing.T) {
	texture := theorytest.Chords("C3 G3 | D3 A3 | E3 B3 | F3 C4 || C3 G3 | D3 A3 ||")
	findings := partwriting.Check(texture, nil, nil)
	passage := partwriting.NewPassage(texture, nil, nil)
	for _, test := range []struct {
		rubric partwriting.Rubric
		want   string
	}{
		{partwriting.Rubric{Fixed: 40, Faults: 4}, "12 of 20"},
		{partwriting.Rubric{Fixed: 40, Faults: 4, PerPhrase: 6}, "15 of 20"},
		{partwriting.Rubric{Fixed: 40, Faults: 4, PerRule: 5}, "17.5 of 20"},
		{partwriting.Rubric{Fixed: 10, Faults: 4}, "0 of 5"},
	} {
		if got := test.rubric.Grade(passage, findings); got.String() != test.want {
			t.Errorf("%+v: %v, want %s", test.rubric, got, test.want)
		}
	}
	for id := range mustRubric(t).Rules {
		if partwriting.RuleByID(id) == nil {
			t.Errorf("the rubric names %s, which is no rule", id)
		}
	}
}

func mustRubric(t *testing.T) partwriting.Rubric {
	t.Helper()
	r, ok := partwriting.RubricByName("points-a-chord")
	if !ok {
		t.Fatal("no rubric")
	}
	return r
}
