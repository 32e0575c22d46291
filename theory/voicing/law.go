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
// them: overlaps, unequal fifths, diminished intervals, omitted fifths, low thirds, all
// voices in one direction, inner leading tones that do not rise.
var charged = map[partwriting.RuleID]bool{
	"voice-overlap": true, "unequal-fifths": true, "diminished-interval": true, "fifth-missing": true,
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
	// cares is set for the intervals that may not or should not be reached.
	cares [partwriting.Distances]bool
	// gap, span and bass are intervals in semitones that are surely narrow enough.
	gap, span, bass int
	// oneWay is how grave it is that all voices go one way.
	oneWay partwriting.Severity
}

// pairStretches is how many moves of two voices the rules tell apart.
const pairStretches = int(partwriting.Distances) * int(partwriting.Distances) * 3 << 7

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

// pair is what the rules say of two voices.
func (l *law) pair(m *partwriting.PairMove) ruling {
	i := (int(m.Before)*int(partwriting.Distances) + int(m.After)) * 3
	i = (i + int(m.Motion-theory.Contrary)) << 7
	// Nothing is both kept and excused.
	for bit, set := range [...]bool{m.UpperLeaps, m.LowerLeaps, m.Outer, m.Bass, m.Revoiced, m.Kept || m.FifthExcused, m.Overlaps} {
		if set {
			i |= 1 << bit
		}
	}
	if l.pairs[i] == 0 {
		var v ruling
		asked := *m // so that only what is asked for the first time is allocated
		l.Pair(&asked, v.add)
		l.pairs[i] = v.packed()
	}
	return unpacked(l.pairs[i])
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
