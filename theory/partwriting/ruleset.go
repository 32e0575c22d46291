package partwriting

// RuleSet is a choice of rules with severities and thresholds. The zero value
// runs every rule at its default severity.
type RuleSet struct {
	// Name is the set's own name.
	Name string
	// Severities overrides defaults; Off silences a rule.
	Severities map[RuleID]Severity
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

// Title returns the set's name; a nil set is the default one.
func (s *RuleSet) Title() string {
	if s == nil || s.Name == "" {
		return "strict-chorale"
	}
	return s.Name
}
