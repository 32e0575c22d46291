package voicing

import (
	"slices"

	"partwright/theory/harmony"
)

// sound is what the course of a way hears of a chord: its root, its bass and all its notes,
// a bit for each by fifths, and what it is for.
type sound struct {
	chord      harmony.Reading
	root, bass int
	notes      uint64
	function   function
}

// function is what a chord is for where rows of chords are looked at.
type function int8

const (
	otherFunction function = iota
	// onTonic is for the tonic's triad and sevenths on it, delaying for a six-four on its notes.
	onTonic
	delaying
	onDominant
	onSupertonic
	onSubdominant
	onSubmediant
	// onMinorDominant is for the dominant of minor without its leading tone.
	onMinorDominant
	// toSubdominant is for dominants of the fourth degree.
	toSubdominant
)

func functionOf(r harmony.Reading) function {
	n := r.Numeral
	switch {
	case n.IsApplied() && n.Of.Degree == 4:
		return toSubdominant
	case n.IsApplied():
		return otherFunction
	case isSixFour(r):
		return delaying
	case n.IsTonic():
		return onTonic
	case isDominant(r):
		return onDominant
	case n.Degree == 5:
		return onMinorDominant
	case n.Degree == 2:
		return onSupertonic
	case n.Degree == 4:
		return onSubdominant
	case n.Degree == 6:
		return onSubmediant
	}
	return otherFunction
}

func soundsOf(chords []harmony.Reading) []sound {
	out := make([]sound, len(chords))
	for k, r := range chords {
		out[k] = sound{chord: r, root: r.Root().Fifths(), bass: r.Bass().Fifths(), function: functionOf(r)}
		for m := range r.Size() {
			out[k].notes |= bitOf(r.Member(m))
		}
	}
	return out
}

// course is what a chord counts together with those before it, the last before it first; nil
// before the first of the phrase. The last two chords of a phrase may be ones that were there before.
func course(past *[staysLong]*sound, ends bool) float64 {
	to, from, before := past[0], past[1], past[2]
	if before == nil {
		return 0
	}
	sum := 0.0
	if to.function == onTonic && from.function == onTonic && before.function == onTonic {
		sum += lingers
	}
	if to.chord == from.chord {
		return sum
	}
	if before.function == onDominant && isSubdominantSix(from.chord) && to.function != onDominant {
		sum += stopgap - goesSlack
	}
	if to.bass == from.bass && from.bass == before.bass && from.chord != before.chord {
		sum += bassStands
	}
	return sum + comesBack(past, ends) + turns(past) + standing(past)
}

// comesBack is what a chord counts that stood there shortly before.
func comesBack(past *[staysLong]*sound, ends bool) (sum float64) {
	to, from, before, third := past[0], past[1], past[2], past[3]
	if to.chord == before.chord {
		sum += oscillates
	}
	if third != nil && third.root == from.root && before.root == to.root && to.root != from.root || byTurns(past) {
		sum += swings
	}
	again := func(s *sound) bool { return s != nil && s.chord == to.chord }
	if to.chord.Numeral.Inversion == 0 && !ends && slices.ContainsFunc(past[3:], again) {
		sum += comesAgain
	}
	return sum
}

// byTurns reports whether tonics and dominants have come by turns up to a change, twice each,
// whichever chords they were: viio6 is no way out of I V I V.
func byTurns(past *[staysLong]*sound) bool {
	dominant := func(s *sound) bool { return s.function == onDominant || s.function == onMinorDominant }
	either := func(s *sound) bool { return s != nil && (s.function == onTonic || dominant(s)) }
	turned := 0
	for k := 1; k < staysLong && either(past[k-1]) && either(past[k]); k++ {
		switch {
		case dominant(past[k]) != dominant(past[k-1]):
			turned++
		case k == 1:
			return false
		}
	}
	return turned > 2
}

// turns is what a chord counts that goes on from a chord and the last other one before it.
func turns(past *[staysLong]*sound) float64 {
	to, from := past[0], past[1]
	var before *sound
	for _, s := range past[2:] {
		if s == nil {
			return 0
		}
		if s.root != from.root {
			before = s
			break
		}
	}
	if before == nil {
		return 0
	}
	switch {
	case to.function == onTonic && (from.function == onSubdominant || from.function == onSupertonic) && (before.function == onTonic || before.function == onMinorDominant):
		return plagal
	case to.function == onTonic && from.function == onSubdominant && before.function == toSubdominant:
		return takenBack
	case to.function == onDominant && from.function == onSubmediant && before.function == onTonic:
		return passesOver
	}
	return 0
}

// standing is what a note counts that all the chords have in common.
func standing(past *[staysLong]*sound) float64 {
	common := past[0].notes
	for _, s := range past[1:] {
		if s == nil {
			return 0
		}
		common &= s.notes
	}
	if common != 0 {
		return stands
	}
	return 0
}
