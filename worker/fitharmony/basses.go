package main

import (
	"math/rand/v2"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// bassesEach is how many bass lines are made of each phrase of labels: they differ in the
// octaves of their notes.
const bassesEach = 6

var bassLines = &given{
	line: tune.Bass, name: "a chorale bass", file: "bass.tsv", made: bassesOf,
	allowed: func(n tune.Note, r harmony.Reading) bool { return r.Bass() == n.Pitch.Class() },
	plain:   []plainWay{{"a triad on every note", onNotes}, {"the rule of the octave", ruleOfTheOctave}},
}

// bassesOf are the phrases of an analysis with the bass notes that its labels name.
func bassesOf(labels *harmony.RomanText, seed uint64) []tune.Example {
	random := rand.New(rand.NewPCG(seed, 11)) // #nosec G404 -- lines to learn from
	var out []tune.Example
	for _, beats := range labeledBeats(labels) {
		if len(beats) < shortestPhrase {
			continue
		}
		for range bassesEach {
			at := theory.MustPitch("C3")
			if random.IntN(2) == 0 {
				at = theory.MustPitch("G3")
			}
			var pitches []theory.Pitch
			for i, b := range beats {
				if i > 0 && b.Reading == beats[i-1].Reading && random.IntN(4) > 0 {
					pitches = append(pitches, at)
					continue
				}
				toward := at
				if random.IntN(6) == 0 { // the leap the other way
					toward.Octave += int8(2*random.IntN(2) - 1)
				}
				at = nearest(b.Bass(), toward, 40, 62)
				pitches = append(pitches, at)
			}
			out = append(out, cut(beats, pitches)...)
		}
	}
	return out
}

// onNotes takes every bass note for a root.
func onNotes(p *tune.Example) []theory.PitchClass {
	var out []theory.PitchClass
	for _, n := range p.Notes {
		out = append(out, n.Pitch.Class())
	}
	return out
}

// ruleOfTheOctave is the rule that pupils learned by heart for a bass without figures: the
// first and fifth degree carry their triads, the third a sixth; the second a dominant; the
// fourth ii65 where it rises to the fifth, the dominant's last inversion where it falls to the
// third, else its triad; the sixth a chord of the sixth on the fourth degree where it
// rises, the dominant of the dominant where it falls; the seventh the dominant (Campion, 1716,
// as textbooks have it; from memory).
func ruleOfTheOctave(p *tune.Example) []theory.PitchClass {
	scale := p.Key.Scale()
	degrees := make([]int, len(p.Notes))
	for i, n := range p.Notes {
		degrees[i], _ = p.Key.Degree(n.Pitch.Class())
	}
	var out []theory.PitchClass
	for i, degree := range degrees {
		next := 0
		for k := i + 1; k < len(degrees) && next == 0; k++ {
			if degrees[k] != degree {
				next = degrees[k]
			}
		}
		out = append(out, scale[rootByRule(degree, next)-1])
	}
	return out
}

// rootByRule is the degree of the root over a degree in the bass and before the next one.
func rootByRule(degree, next int) int {
	switch {
	case degree == 1 || degree == 3:
		return 1
	case degree == 4 && next == 5, degree == 6 && next == 5:
		return 2
	case degree == 4 && next != 3, degree == 6:
		return 4
	}
	return 5
}
