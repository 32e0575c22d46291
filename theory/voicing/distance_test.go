package voicing

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// TestDistances compares the smallest voice leading between two chords, with all
// rules lifted, with published sizes in semitones.
func TestDistances(t *testing.T) {
	const (
		science  = "Tymoczko, The Geometry of Musical Chords, Science 313 (2006), supporting material, fig. S12"
		list     = "Tymoczko to the list SMT-Talk, 13 March 2009"
		parsimon = "Douthett and Steinbach, Parsimonious Graphs, Journal of Music Theory 42 (1998): P and L move a semitone, R a whole tone"
		cubes    = "Cohn, Audacious Euphony (2012), 102-106, on the cube dance"
		memory   = "Tymoczko, A Geometry of Music (2011), from memory"
	)
	for _, c := range []struct {
		from, to     string
		voices, want int
		source       string
	}{
		{"C", "F", 3, 3, list},
		{"C", "Fm", 3, 2, list},
		{"Cmaj7", "Emaj7", 5, 3, science},
		{"C", "Cm", 3, 1, parsimon},
		{"C", "Em", 3, 1, parsimon},
		{"C", "Am", 3, 2, parsimon},
		{"C", "E", 3, 2, cubes + ": major thirds apart are nearest"},
		{"C", "Ab", 3, 2, cubes + ": major thirds apart are nearest"},
		{"C", "F#", 3, 6, cubes + ": a tritone apart is farthest, through four cubes"},
		{"Caug", "C", 3, 1, cubes + ": an augmented triad touches six triads"},
		{"Caug", "Am", 3, 1, cubes + ": an augmented triad touches six triads"},
		{"C", "G", 3, 3, memory},
		{"C7", "F#7", 4, 2, memory},
		{"C7", "Eb7", 4, 2, memory},
		{"C7", "A7", 4, 2, memory},
		{"C7", "F7", 4, 4, memory},
		{"Bdim7", "G7", 4, 1, memory},
		{"Fm7b5", "E7", 4, 2, memory + ": the opening of Tristan"},
	} {
		p := &Problem{Style: measuring(c.voices)}
		for _, symbol := range []string{c.from, c.to} {
			chord, err := harmony.ParseSymbol(symbol)
			if err != nil {
				t.Fatal(err)
			}
			p.Slots = append(p.Slots, Given(harmony.ReadIn(theory.MajorKey(chord.Root), chord)))
		}
		s, err := Solve(p)
		if err != nil {
			t.Fatalf("%s to %s: %v", c.from, c.to, err)
		}
		if int(s.Cost) != c.want {
			t.Errorf("%s to %s in %d voices: %d semitones %v, want %d (%s)", c.from, c.to, c.voices, s.Cost, s.Chords, c.want, c.source)
		}
	}
}

// The distance is a metric between chords of one size: symmetric, and no longer
// than a detour (Tymoczko 2006).
func TestDistanceIsAMetric(t *testing.T) {
	c := theory.MajorKey(theory.PitchClass{Step: theory.C})
	numerals := []harmony.Numeral{one, two, four, five, six}
	size := func(a, b harmony.Numeral) Cost {
		s, err := Solve(&Problem{Style: measuring(3), Slots: []Slot{Given(harmony.Reading{Key: c, Numeral: a}), Given(harmony.Reading{Key: c, Numeral: b})}})
		if err != nil {
			t.Fatal(err)
		}
		return s.Cost
	}
	for _, a := range numerals {
		for _, b := range numerals {
			if there, back := size(a, b), size(b, a); there != back || (a == b) != (there == 0) {
				t.Errorf("%v to %v: %d, and %d back", a, b, there, back)
			}
			for _, via := range numerals {
				if size(a, b) > size(a, via)+size(via, b) {
					t.Errorf("%v to %v is shorter over %v", a, b, via)
				}
			}
		}
	}
}

// measuring returns a texture of so many equal voices in which nothing is
// forbidden and each semitone costs 1: the cost of a progression is then the size
// of the smallest voice leading (the sum of what the voices move, in Tymoczko,
// "The Geometry of Musical Chords", Science 313, 2006). It is for measuring how
// far chords lie apart, and what the rules cost.
func measuring(voices int) Style {
	s := Style{Name: "measuring", lifted: true, Weights: Weights{Semitone: 1, BassSemitone: 1}}
	for v := range voices {
		s.Voices = append(s.Voices, voice(fmt.Sprintf("V%d", v+1), "F3", "F3", "F5", "F5"))
	}
	return s
}
