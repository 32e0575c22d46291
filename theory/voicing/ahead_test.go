package voicing

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// A fifth over the bass is worth watching only before a chord that could have another
// one in the same voices: a voice on the fifth of the next chord is within a fourth or
// it is not (the prohibition: Open Music Theory v1, "types of parallel motion").
func TestFifthsAndOctavesThatCouldComeAgain(t *testing.T) {
	for _, tt := range []struct {
		from Chord
		next string
		then harmony.Numeral
		want []int
		why  string
	}{
		{chord(one, "E5", "G4", "C4", "C3"), "[D5 G4 B3 G3]", one, []int{0}, "D over G could become G over C, a fourth away"},
		{chord(one, "E5", "G4", "C4", "C3"), "[D5 G4 B3 G3]", four, []int{0}, "D over G could become C over F, a step away"},
		{chord(one, "E5", "G4", "C4", "C3"), "[D5 G4 B3 G3]", five, nil, "where the bass leaps an octave the voice would have to leap a fifth or more"},
	} {
		q := Question{From: tt.from, To: reading(five), Style: Chorale(), Onward: []harmony.Reading{reading(tt.then)}}
		look := NewLookahead(&q)
		for _, o := range Options(q) {
			if fmt.Sprint(o.Pitches) != tt.next {
				continue
			}
			got := look.From(&o)[0].Repeats
			for _, v := range got {
				above := theory.Between(o.Pitches[3], o.Pitches[v])
				if !above.IsPerfectFifth() && !above.IsPerfectOctave() {
					t.Errorf("%v: voice %d stands in no fifth or octave", o.Pitches, v)
				}
			}
			if (tt.want == nil) != (got == nil) || tt.want != nil && !slices.Contains(got, tt.want[0]) {
				t.Errorf("%v to %v: %v could come again, want %v: %s", o.Pitches, tt.then, got, tt.want, tt.why)
			}
		}
	}
}

// Whatever is closed is closed for a reason: the least bad way there breaks a rule, and
// as an option of its own it is judged the same.
func TestClosedChordsSayWhy(t *testing.T) {
	random := rand.New(rand.NewPCG(71, 73))
	closed, none := 0, 0
	for changes := 0; changes < 14; {
		p := randomProblem(t, random)
		s := solveIfPossible(t, p)
		if s == nil || len(s.Chords) < 3 {
			continue
		}
		changes++
		q := Question{From: s.Chords[0], To: s.Chords[1].Reading, Style: p.Style, Best: 2, Onward: []harmony.Reading{s.Chords[2].Reading, s.Chords[0].Reading}}
		look := NewLookahead(&q)
		for _, o := range Options(q) {
			for i, a := range look.From(&o) {
				if a.Least != nil && o.Onward[i] > 0 {
					t.Errorf("%v: %v is open and has a reason against it", o.Pitches, q.Onward[i])
				}
				if o.Onward[i] > 0 {
					continue
				}
				closed++
				if a.Least == nil {
					none++
					continue
				}
				if a.Least.Severity() < partwriting.Fault {
					t.Errorf("%v to %v: closed, but %v breaks no rule", o.Pitches, q.Onward[i], a.Least.Pitches)
				}
				next := *look.Question(o.Pitches, q.Onward[i])
				if !slices.ContainsFunc(Options(next), func(other Option) bool {
					return samePitches(other.Pitches, a.Least.Pitches) && other.Severity() == a.Least.Severity()
				}) {
					t.Errorf("%v to %v: %v is no option", o.Pitches, q.Onward[i], a.Least.Pitches)
				}
			}
		}
	}
	if closed < 20 {
		t.Errorf("only %d chords were closed", closed)
	}
	t.Logf("%d closed, %d of them without an arrangement", closed, none)
}
