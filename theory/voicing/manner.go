package voicing

import (
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// What teachers mend in a choice of chords makes a way less likely to count, in natural
// logarithms for each time. The likeliest way has it more often than people have: it takes the
// most frequent chord wherever the melody leaves it open. In 1,134 phrases of chorales a chord
// returns after one other 0.24 times a phrase, in the likeliest ways 0.97, in those chosen by
// the first three of these 0.50; no predominant comes before a cadence in 0.31, 0.45 and 0.29
// of the phrases. That costs 0.7 % of the beats whose root is as people have it. Sizes are
// common practice, no source.
const (
	// oscillates is for a chord that returns after one other.
	oscillates = 1.0
	// goesBack is for a change against the functions ([FunctionalSyntax]), goesSlack for one
	// that they hardly have.
	goesBack, goesSlack = 1.0, 0.5
	// unprepared is for the dominant of a cadence that comes from the tonic.
	unprepared = 1.0
	// endsAway is for a phrase that ends on another chord than I, V, vi or one that its own
	// dominant leads to; endsLightly for one whose last dominant before I stands in inversion.
	endsAway, endsLightly = 3.0, 0.5
)

// hardlyHad is what a change costs that functions hardly have.
const hardlyHad Cost = 500

// dislikes is how much less likely a way through a phrase is to count.
func dislikes(way tune.Way) float64 {
	sum := 0.0
	for i := 1; i < len(way); i++ {
		if i > 1 && way[i] == way[i-2] && way[i] != way[i-1] {
			sum += oscillates
		}
		switch {
		case backwards(way[i-1], way[i]):
			sum += goesBack
		case FunctionalSyntax(way[i-1], way[i]) >= hardlyHad && way[i-1].Root() != way[i].Root():
			sum += goesSlack
		}
	}
	if closesUnprepared(way) {
		sum += unprepared
	}
	return sum + ending(way)
}

// ending is what the last two chords of a way count.
func ending(way tune.Way) float64 {
	last := way[len(way)-1]
	at := first(way, len(way)-1)
	before := way[max(at-1, 0)]
	switch n := last.Numeral; {
	case before.Numeral.IsApplied() && !backwards(before, last), raisedTonic(last):
		return 0
	case n.IsApplied() || n.Alter != 0 || n.Degree != 1 && n.Degree != 5 && n.Degree != 6:
		return endsAway
	case n.IsTonic() && isDominant(before) && before.Numeral.Degree == 5 && before.Inversion() > 0:
		return endsLightly
	}
	return 0
}

// backwards reports whether a change goes against the functions. A six-four on the tonic's
// notes stands for the dominant after it.
func backwards(from, to harmony.Reading) bool {
	if from.Root() == to.Root() || isSixFour(to) {
		return false
	}
	cost := FunctionalSyntax(from, to)
	return cost < 0 || cost >= backward
}

// closesUnprepared reports whether the dominant that a phrase ends on, or that leads to its
// last chord, comes from the tonic and not from a predominant (Hutchinson, Music Theory for
// the 21st-Century Classroom, ch. 16: tonic, predominant, dominant, tonic).
func closesUnprepared(way tune.Way) bool {
	last := len(way) - 1
	at := first(way, last)
	if !isDominant(way[at]) {
		at = first(way, max(at-1, 0))
	}
	for at > 0 && isDominant(way[at]) && (isDominant(way[at-1]) || isSixFour(way[at-1])) {
		at--
	}
	return at > 0 && (isDominant(way[at]) || isSixFour(way[at])) && way[at-1].Numeral.IsTonic()
}

// first is the index where the chord begins that holds at another.
func first(way tune.Way, at int) int {
	for at > 0 && way[at-1] == way[at] {
		at--
	}
	return at
}

func isDominant(r harmony.Reading) bool {
	return !r.Numeral.IsApplied() && (r.Numeral.Degree == 5 || r.Numeral.Degree == 7) && r.Numeral.IsDominant()
}

// isSixFour reports whether a chord is a six-four on the tonic's notes.
func isSixFour(r harmony.Reading) bool {
	return r.Numeral.Cadential || r.Numeral.IsTonic() && r.Inversion() == 2
}
