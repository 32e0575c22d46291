package voicing

import (
	"errors"
	"math/rand/v2"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// solveIfPossible returns nil for a progression that has no voicing.
func solveIfPossible(t *testing.T, p *Problem) *Solution {
	t.Helper()
	s, err := Solve(p)
	var impossible *ImpossibleError
	if err != nil && !errors.As(err, &impossible) {
		t.Fatal(err)
	}
	return s
}

// TestSolutionsHaveNoFaults lets the rule engine judge what the solver made of
// random progressions.
func TestSolutionsHaveNoFaults(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	english, _ := partwriting.CatalogFor("en")
	solved := 0
	for range 400 {
		numerals := []harmony.Numeral{one}
		for range 3 + random.IntN(8) {
			numerals = append(numerals, vocab[random.IntN(len(vocab))])
		}
		p := progression(Chorale(), append(numerals, fiveSev, one)...)
		s := solveIfPossible(t, p)
		if s == nil {
			continue
		}
		solved++
		texture := s.Texture(&p.Style, Layout{})
		for _, f := range partwriting.Check(texture, nil, nil) {
			if f.Severity == partwriting.Fault {
				t.Errorf("%s at %v: %s", f.Rule, f.Onset, english.Message(&f, texture))
				for _, c := range s.Chords {
					t.Logf("  %v %v", c.Reading, c.Pitches)
				}
			}
		}
	}
	if solved < 200 {
		t.Errorf("only %d of 400 progressions could be voiced", solved)
	}
	t.Logf("%d of 400 voiced", solved)
}

func TestTextureTiesOverBarLines(t *testing.T) {
	p := progression(Chorale(), one, four)
	s, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	texture := s.Texture(&p.Style, Layout{Durations: []theory.Fraction{theory.Whole(3), theory.Whole(2)}})
	if got := len(texture.Score.Measures); got != 2 {
		t.Fatalf("%d measures, want 2", got)
	}
	last := texture.Voices[0].Notes[1]
	if len(last.IDs) != 2 || !texture.Score.Notes[last.IDs[0]].Flags.Has(theory.TieStart) {
		t.Errorf("the chord over the bar line is not tied: %+v", last)
	}
	if len(texture.Moments) != 2 {
		t.Errorf("%d moments, want 2: a tie starts nothing", len(texture.Moments))
	}
}
