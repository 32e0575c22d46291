package voicing

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// ruling is what the rules say of a stretch that the solver looks at: how many of them
// it breaks, and how many ask for care and have no charge of their own.
type ruling struct{ faults, cautions uint8 }

func (v *ruling) add(rule partwriting.RuleID, severity partwriting.Severity) {
	switch {
	case severity == partwriting.Fault:
		v.faults++
	case severity == partwriting.Caution && !charged[rule]:
		v.cautions++
	}
}

// weigh is [ruling.add] for a severity that may be off.
func (v *ruling) weigh(severity partwriting.Severity) { v.add("", severity) }

// charged are the rules whose matter has a charge of its own, whatever a set makes of
// them: overlaps, unisons, unequal fifths, diminished intervals, omitted fifths, low thirds,
// inner leading tones that do not rise.
var charged = map[partwriting.RuleID]bool{
	"voice-overlap": true, "unison": true, "unequal-fifths": true, "diminished-interval": true, "fifth-missing": true,
	"low-spacing": true, "inner-leading-tone-unresolved": true,
}

// cost is what a ruling costs, with a price for each rule that forbids.
func (v ruling) cost(w *Weights, barred Cost) Cost {
	if v.faults > 0 && barred == forbidden {
		return forbidden
	}
	return Cost(v.cautions)*w.Caution + Cost(v.faults)*barred
}

// law is a rule set as the solver asks it: what it says of two voices stands in a table
// that fills as it is asked.
type law struct {
	*partwriting.Law
	pairs [pairStretches]uint8
	// joins are the consecutives of two voices from one phrase to the next.
	joins [joinStretches]uint8
	// cares is set for the intervals that may not or should not be reached.
	cares [partwriting.Distances]bool
	// gap, span and bass are intervals in semitones that are surely narrow enough.
	gap, span, bass int
	// oneWay is how grave it is that all voices go one way.
	oneWay partwriting.Severity
}

// pairStretches is how many moves of two voices the rules tell apart.
const pairStretches = int(partwriting.Distances) * int(partwriting.Distances) * 3 << 7

// joinStretches is how many moves of two voices are told apart between phrases: with the
// motion, and whether they are the outer ones.
const joinStretches = int(partwriting.Distances) * int(partwriting.Distances) * 3 * 2

// packed is a ruling in a byte, with a bit that says that it is known.
func (v ruling) packed() uint8 { return 1 | min(v.faults, 7)<<1 | min(v.cautions, 15)<<4 }

func unpacked(b uint8) ruling { return ruling{faults: b >> 1 & 7, cautions: b >> 4} }

func newLaw(set *partwriting.RuleSet) *law {
	l := &law{Law: partwriting.NewLaw(set)}
	l.oneWay = l.Severity("all-one-direction")
	limits := l.Limits()
	l.gap, l.span, l.bass = limits.UpperSpacing.Semitones-2, limits.HandSpan.Semitones-2, limits.BassGap.Semitones-2
	for _, d := range []partwriting.Distance{partwriting.PerfectFifthApart, partwriting.OctaveApart, partwriting.UnisonApart} {
		l.cares[d] = true
	}
	for rule, d := range map[partwriting.RuleID]partwriting.Distance{
		"narrowing-fifths": partwriting.DiminishedFifthApart, "parallel-fourths": partwriting.PerfectFourthApart,
		"parallel-seconds-sevenths": partwriting.SecondOrSeventhApart,
	} {
		l.cares[d] = l.Severity(rule) >= partwriting.Caution
	}
	return l
}

// facts are what the rules ask of two voices besides distances and motion, a bit for each.
type facts uint8

const (
	upperLeaps facts = 1 << iota
	lowerLeaps
	outerPair
	bassPair
	revoiced
	// keptOrExcused is both, as nothing is kept where a fifth is excused.
	keptOrExcused
	overlapping
)

// stretch is a move of two voices as the rules tell it from others.
type stretch struct {
	before, after partwriting.Distance
	motion        theory.Motion
	facts         facts
}

// pair is what the rules say of two voices that both move.
func (l *law) pair(s stretch) ruling {
	i := (int(s.before)*int(partwriting.Distances)+int(s.after))*3 + int(s.motion-theory.Contrary)
	i = i<<7 | int(s.facts)
	if l.pairs[i] == 0 {
		l.pairs[i] = l.pairAsked(s).packed()
	}
	return unpacked(l.pairs[i])
}

func (l *law) pairAsked(s stretch) (v ruling) {
	has := func(f facts) bool { return s.facts&f != 0 }
	fifths := s.before == partwriting.DiminishedFifthApart && s.after == partwriting.PerfectFifthApart
	m := partwriting.PairMove{
		Before: s.before, After: s.after, Motion: s.motion,
		UpperLeaps: has(upperLeaps), LowerLeaps: has(lowerLeaps), Outer: has(outerPair), Bass: has(bassPair),
		Revoiced: has(revoiced), Kept: has(keptOrExcused) && !fifths, FifthExcused: has(keptOrExcused) && fifths,
		Overlaps: has(overlapping),
	}
	l.Pair(&m, v.add)
	return v
}

// join counts the rules that a check remarks on where two voices that both move go so from
// one phrase to the next.
func (l *law) join(before, after partwriting.Distance, motion theory.Motion, outer bool) int {
	i := ((int(before)*int(partwriting.Distances)+int(after))*3 + int(motion-theory.Contrary)) * 2
	if outer {
		i++
	}
	if l.joins[i] == 0 {
		m := partwriting.PairMove{Before: before, After: after, Motion: motion, Outer: outer, Joins: true}
		l.joins[i] = 1
		l.Pair(&m, func(partwriting.RuleID, partwriting.Severity) { l.joins[i]++ })
	}
	return int(l.joins[i]) - 1
}

// RuleSet is the law of a style.
func (s *Style) RuleSet() *partwriting.RuleSet {
	if s.Rules != nil {
		return s.Rules
	}
	return partwriting.RuleSetByName(partwriting.DefaultRuleSet)
}

// under returns the law of a style, made ready once.
func (s *Style) under() *law {
	if set := s.RuleSet(); s.law == nil || s.law.Set() != set {
		s.law = newLaw(set)
	}
	return s.law
}
