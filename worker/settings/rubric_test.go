package settings

import (
	"strings"
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// A teacher's own rubric marks as it says: two fifths at four points, capped at
// six in the phrase.
func TestReadRubric(t *testing.T) {
	yaml := "name: second quiz\nsource: course plan\npoints: 20\npoints-a-phrase: 2.5\nfaults: 1\nfamilies:\n  consecutives: 4\nrules:\n  contrary-fifths: 2\nmost-a-phrase: 6\npraise: yes\n"
	json := `{"name": "second quiz", "source": "course plan", "points": 20, "points-a-phrase": 2.5, "faults": 1,
 "families": {"consecutives": 4}, "rules": {"contrary-fifths": 2}, "most-a-phrase": 6, "praise": true}`
	texture := theorytest.Chords("C3 G3 E4 C5 | D3 A3 F4 A4 | G3 D4 F4 B4 | C3 C4 E4 C5 ||")
	findings := partwriting.Check(texture, nil, nil)
	for _, text := range []string{yaml, json} {
		rubric, err := ReadRubric("quiz.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		mark := rubric.Grade(partwriting.NewPassage(texture, nil, nil), findings)
		if mark.String() != "16.5 of 22.5" || len(mark.Phrases) != 1 || mark.Phrases[0].Lost.String() != "6" || !mark.Phrases[0].Capped {
			t.Errorf("%v %+v, want 16.5 of 22.5", mark, mark.Phrases)
		}
		if rubric.Source.String() != "course plan" || !rubric.Praise {
			t.Errorf("%+v", rubric)
		}
	}
}

// A rubric that is based on one that comes with the program keeps what it does
// not change, and leaves that one as it is.
func TestRubricBasedOnAnother(t *testing.T) {
	rubric, err := ReadRubric("quiz.yaml", []byte("name: mild\nbased-on: points-a-chord\nrules:\n  parallel-fifths: 1\n"))
	if err != nil {
		t.Fatal(err)
	}
	base, _ := partwriting.RubricByName("points-a-chord")
	if rubric.Rules["parallel-fifths"].String() != "1" || rubric.Rules["parallel-octaves"].String() != "3" || rubric.PerChord != base.PerChord {
		t.Errorf("%+v", rubric)
	}
	if base.Rules["parallel-fifths"].String() != "3" {
		t.Error("the rubric it is based on has changed")
	}
}

func TestRubricProblemsHaveLines(t *testing.T) {
	for _, test := range []struct{ text, want, why string }{
		{"name: x\npoints: 10\nrules:\n  paralel-fifths: 1\n", "own.yaml:4: there is no rule \"paralel-fifths\", did you mean parallel-fifths?", "a rule that does not exist"},
		{"name: x\npoints: 10\nfamilies:\n  lines: 1\n", "own.yaml:4: there is no family \"lines\", did you mean line?", "a family that does not exist"},
		{"name: x\npoints: 10\nfaults: 1.25\n", "own.yaml:3: faults: \"1.25\" is no number of points", "quarter points"},
		{"name: x\npoints: -1\n", "own.yaml:2: points: \"-1\" is no number of points", "less than nothing"},
		{"name: x\npoints: 10\npraise: perhaps\n", "own.yaml:3: praise takes yes or no, not \"perhaps\"", "neither yes nor no"},
		{"name: x\nbased-on: hundreds\n", "own.yaml:2: there is no rubric \"hundreds\", did you mean hundred?", "a base that does not exist"},
		{"name: hundred\npoints: 10\n", "own.yaml:1: hundred is a name that comes with the program", "a name that is taken"},
		{"name: x\nfaults: 1\n", "own.yaml:1: nothing says what the work is worth", "no worth"},
		{"name: x\npoint: 10\n", "own.yaml:", "a key that does not exist"},
		{"", "own.yaml: holds no rubric", "nothing at all"},
	} {
		rubric, err := ReadRubric("own.yaml", []byte(test.text))
		if err == nil || rubric != nil {
			t.Errorf("%s was accepted: %q", test.why, test.text)
			continue
		}
		if !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%s:\n got %q\nwant %q", test.why, err, test.want)
		}
	}
}

func FuzzReadRubric(f *testing.F) {
	f.Add([]byte("name: x\npoints: 10\nrules:\n  parallel-fifths: 1\n"))
	f.Add([]byte(`{"name": "x", "points-a-chord": 2.5, "families": {"line": 1}}`))
	f.Add([]byte("a: &a [*a]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		rubric, err := ReadRubric("own.yaml", data)
		if (rubric == nil) == (err == nil) {
			t.Error("neither a rubric nor an error, or both")
		}
	})
}
