package partwriting

// Page is a rule set to be read: every rule with what it means and how much it
// weighs here, and every setting with the value that holds.
type Page struct {
	Name     string
	Rules    []PageRule
	Settings []PageSetting
	Ranges   []PageRange
}

// PageRule is one rule of a page in the words of a catalog.
type PageRule struct {
	*Rule
	// Weight is the severity in the set.
	Weight Severity
	// Name and Definition say what the rule is, Reason why it matters and how to
	// mend what breaks it.
	Name, Definition, Reason string
	// Terms are the words of the trade in these, explained.
	Terms []Term
}

// PageSetting is one threshold of a page; Takes says what it takes.
type PageSetting struct{ Name, Value, Takes string }

// PageRange is the range of a voice by its letter, from the top.
type PageRange struct {
	Voice string
	Range
}

// Page writes the set out in full in the words of a catalog; s may be nil.
func (s *RuleSet) Page(c *Catalog) Page {
	page := Page{Name: s.Title()}
	for _, r := range suite {
		page.Rules = append(page.Rules, s.PageRule(r, c))
	}
	limits := s.limits()
	for _, setting := range settings {
		page.Settings = append(page.Settings, PageSetting{setting.Name, setting.Get(&limits), setting.Takes})
	}
	for _, voice := range [...]string{"S", "A", "T", "B"} {
		if r, ok := limits.Ranges[voice]; ok {
			page.Ranges = append(page.Ranges, PageRange{voice, r})
		}
	}
	return page
}

// PageRule writes one rule out; s may be nil.
func (s *RuleSet) PageRule(r *Rule, c *Catalog) PageRule {
	return PageRule{
		Rule: r, Weight: s.SeverityOf(r),
		Name: c.RuleName(r.ID), Definition: c.Rules[r.ID].Definition, Reason: c.Why(r.ID),
		Terms: c.TermsOf(r.ID),
	}
}
