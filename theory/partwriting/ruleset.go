package partwriting

import "partwright/theory"

// DefaultRuleSet is the name of the set that applies when none is chosen.
const DefaultRuleSet = "strict-chorale"

// RuleSet is a choice of rules with severities and thresholds. The zero value,
// and nil, run every rule at its default severity.
type RuleSet struct {
	// Name is the set's own name.
	Name string
	// Severities overrides defaults; Off silences a rule.
	Severities map[RuleID]Severity
	// Limits are the thresholds; what is left zero takes its default.
	Limits Limits
}

// Limits are the thresholds of rules that measure.
type Limits struct {
	// UpperSpacing is the widest interval between neighboring upper voices;
	// default a perfect octave.
	UpperSpacing theory.Interval
	// Ranges by voice name; default [ConservativeRanges].
	Ranges map[string]Range
}

// Title returns the name under which answers show the set.
func (s *RuleSet) Title() string {
	if s == nil || s.Name == "" {
		return DefaultRuleSet
	}
	return s.Name
}

// SeverityOf returns the severity a rule has in this set.
func (s *RuleSet) SeverityOf(r *Rule) Severity {
	if s != nil {
		if own, ok := s.Severities[r.ID]; ok {
			return own
		}
	}
	return r.Severity
}

func (s *RuleSet) limits() Limits {
	var l Limits
	if s != nil {
		l = s.Limits
	}
	if l.UpperSpacing == theory.Unison {
		l.UpperSpacing = theory.PerfectOctave
	}
	if l.Ranges == nil {
		l.Ranges = conservative
	}
	return l
}

var conservative = ConservativeRanges()

// ConservativeRanges returns the ranges of Butterfield, Integrated Music Theory,
// unit 10a. Changing and untrained voices need narrower ones: the teacher or
// voice coach knows best.
func ConservativeRanges() map[string]Range {
	return map[string]Range{
		"S": {theory.MustPitch("C4"), theory.MustPitch("G5")},
		"A": {theory.MustPitch("G3"), theory.MustPitch("D5")},
		"T": {theory.MustPitch("C3"), theory.MustPitch("G4")},
		"B": {theory.MustPitch("E2"), theory.MustPitch("D4")},
	}
}
