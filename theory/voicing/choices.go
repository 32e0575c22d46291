package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Inversions returns a slot for a chord whose bass is free: every inversion that
// can stand on its own, with a cost that prefers the root and lets the line
// decide. A six-four is not among them; it has to be asked for.
func Inversions(r harmony.Reading) Slot {
	var s Slot
	for i := range r.Size() {
		if i == 2 && r.Size() == 3 || r.Numeral.Lacks(i) {
			continue
		}
		c := r
		c.Numeral.Inversion = int8(i)
		s.Choices = append(s.Choices, Choice{Reading: c, Cost: [4]Cost{0, 120, 200, 160}[i]})
	}
	return s
}

// UnderMelody returns a slot for a given note of the top voice: every chord of
// the key's vocabulary that contains it, in each usual inversion. A note that is in
// none of them takes the chords that a key borrows: those of the melodic minor scale,
// and dominants of other degrees.
func UnderMelody(top theory.Pitch, key theory.Key) Slot {
	s := underMelody(top, key, vocabulary(key))
	if len(s.Choices) == 0 {
		s = underMelody(top, key, beyond(key))
	}
	return s
}

func underMelody(top theory.Pitch, key theory.Key, words []word) Slot {
	s := Slot{Fixed: []*theory.Pitch{&top}}
	for _, w := range words {
		r := harmony.Reading{Key: key, Numeral: w.numeral}
		if r.MemberOf(top.Class()) < 0 {
			continue
		}
		for _, c := range Inversions(r).Choices {
			// A diminished triad stands in first inversion.
			if r.Quality() == harmony.DiminishedTriad && c.Reading.Inversion() != 1 {
				continue
			}
			c.Cost += w.cost
			s.Choices = append(s.Choices, c)
		}
	}
	return s
}

// OverBass returns a slot for a given note of the lowest voice that has no figures: every
// chord of the key's vocabulary that stands on it in a usual inversion, or else those that
// a key borrows, or else the triad of the signature on it.
func OverBass(bass theory.Pitch, key theory.Key) Slot {
	s := Slot{}
	for _, words := range [][]word{vocabulary(key), beyond(key)} {
		for _, w := range words {
			for _, c := range Inversions(harmony.Reading{Key: key, Numeral: w.numeral}).Choices {
				if c.Reading.Bass() != bass.Class() || c.Reading.Quality() == harmony.DiminishedTriad && c.Reading.Inversion() != 1 {
					continue
				}
				c.Cost += w.cost
				s.Choices = append(s.Choices, c)
			}
		}
		if len(s.Choices) > 0 {
			return s
		}
	}
	if r, ok, err := harmony.ReadFigures(bass.Class(), nil, key); ok && err == nil {
		s.Choices = []Choice{{Reading: r}}
	}
	return s
}

// word is one chord of a vocabulary and how rare it is.
type word struct {
	numeral harmony.Numeral
	cost    Cost
}

// vocabulary lists the chords a melody is harmonized with: the triads of the
// key, in minor with the raised leading tone in V and viio, and the sevenths on
// ii and V. The order of preference follows the functions: tonic, dominant and
// predominant first, the third degree last (Butterfield, unit 11; common
// practice, no source for the numbers).
func vocabulary(key theory.Key) []word {
	n := func(degree, alter int8, q harmony.Quality, cost Cost) word {
		return word{harmony.Numeral{Degree: degree, Alter: alter, Quality: q}, cost}
	}
	if key.Mode == theory.MinorMode {
		return []word{
			n(1, 0, harmony.MinorTriad, 0), n(5, 0, harmony.MajorTriad, 0), n(5, 0, harmony.DominantSeventh, 40),
			n(4, 0, harmony.MinorTriad, 40), n(2, 0, harmony.DiminishedTriad, 60), n(2, 0, harmony.HalfDiminishedSeventh, 120),
			n(6, 0, harmony.MajorTriad, 120), n(7, 1, harmony.DiminishedTriad, 160), n(3, 0, harmony.MajorTriad, 250),
			n(7, 0, harmony.MajorTriad, 300),
		}
	}
	return []word{
		n(1, 0, harmony.MajorTriad, 0), n(5, 0, harmony.MajorTriad, 0), n(5, 0, harmony.DominantSeventh, 40),
		n(4, 0, harmony.MajorTriad, 40), n(2, 0, harmony.MinorTriad, 60), n(2, 0, harmony.MinorSeventh, 120),
		n(6, 0, harmony.MinorTriad, 100), n(7, 0, harmony.DiminishedTriad, 160), n(3, 0, harmony.MinorTriad, 250),
	}
}

// beyond lists chords with notes that are foreign to the key: in minor ii and IV over
// the raised sixth degree (Hutchinson, ch. 16), in major iv (ch. 27), in both the
// Neapolitan and the dominants of the degrees that carry a major or minor triad (ch. 20).
func beyond(key theory.Key) []word {
	targets := []harmony.Target{{Degree: 2, Mode: theory.MinorMode}, {Degree: 3, Mode: theory.MinorMode}, {Degree: 4}, {Degree: 5}, {Degree: 6, Mode: theory.MinorMode}}
	words := []word{{harmony.Numeral{Degree: 4, Quality: harmony.MinorTriad}, 200}}
	if key.Mode == theory.MinorMode {
		targets = []harmony.Target{{Degree: 3}, {Degree: 4, Mode: theory.MinorMode}, {Degree: 5}, {Degree: 6}, {Degree: 7}}
		words = []word{
			{harmony.Numeral{Degree: 4, Quality: harmony.MajorTriad}, 100}, {harmony.Numeral{Degree: 2, Quality: harmony.MinorTriad}, 120},
		}
	}
	words = append(words, word{harmony.Numeral{Degree: 2, Alter: -1, Quality: harmony.MajorTriad}, 300})
	for _, to := range targets {
		words = append(words,
			word{harmony.Numeral{Degree: 5, Quality: harmony.MajorTriad, Of: to}, 300},
			word{harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh, Of: to}, 320},
			word{harmony.Numeral{Degree: 7, Quality: harmony.DiminishedTriad, Of: to}, 400})
	}
	return words
}

// Syntax is what it costs to go from one chord to the next by harmonic function;
// a negative cost means never, or only where the notes leave nothing else.
type Syntax func(from, to harmony.Reading) Cost

// FunctionalSyntax follows the cycle tonic, predominant, dominant, tonic as
// Butterfield (unit 11) and Hutchinson (ch. 16) draw it: iii-vi-(IV, ii)-(V,
// viio)-I, I to anything, V to vi, IV to I, and moves inside one function. A
// dominant never falls back to a predominant. A chord that gives up its seventh
// costs much: the seventh has to resolve (Open Music Theory v1, keyboard-style
// voice-leading; the numbers are common practice, no source).
func FunctionalSyntax(from, to harmony.Reading) Cost {
	if from.Key != to.Key {
		return 0
	}
	a, b := from.Numeral.Degree, to.Numeral.Degree
	switch {
	case from.Numeral.IsApplied():
		return resolves(&from.Numeral, &to.Numeral)
	case to.Numeral.IsApplied():
		return 0
	case a == b && from.Quality().IsSeventh() && !to.Quality().IsSeventh():
		return seventhLost
	case a == b && from.Inversion() == to.Inversion() && from.Quality() == to.Quality():
		return 250
	case a == b:
		return 120
	case a == 1:
		return 0
	}
	return following[a][b]
}

// resolves is the cost of what follows an applied dominant: its target, or another
// dominant of the same one.
func resolves(from, to *harmony.Numeral) Cost {
	switch {
	case to.Of == from.Of, !to.IsApplied() && to.Degree == from.Of.Degree && to.Alter == from.Of.Alter:
		return 0
	}
	return backward
}

const (
	never Cost = -1
	// backward is what never costs where the notes leave nothing else, seventhLost
	// the cost of a seventh that is dropped while its root stays.
	backward    Cost = 2000
	seventhLost Cost = 1000
)

// following[a][b] is the cost of degree a going to degree b.
var following = [8][8]Cost{
	2: {1: never, 3: never, 4: 300, 5: 0, 6: 500, 7: 60},
	3: {1: never, 2: 250, 4: 60, 5: 400, 6: 0, 7: never},
	4: {1: 150, 2: 40, 3: never, 5: 0, 6: 500, 7: 60},
	5: {1: 0, 2: never, 3: 600, 4: never, 6: 150, 7: 300},
	6: {1: 500, 2: 0, 3: 400, 4: 20, 5: 200, 7: never},
	7: {1: 0, 2: never, 3: 300, 4: never, 5: 100, 6: 500},
}
