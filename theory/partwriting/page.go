package partwriting

// Page is a rule set to be read: every rule with what it means and how much it
// weighs here, and every setting with the value that holds.
type Page struct {
	Name     string        `json:"name"`
	Rules    []PageRule    `json:"rules"`
	Settings []PageSetting `json:"settings"`
	// Ranges are by voice from the top.
	Ranges []PageSetting `json:"ranges"`
}

// PageRule is one rule of a page.
type PageRule struct {
	ID         RuleID `json:"id"`
	Name       string `json:"name"`
	Family     string `json:"family"`
	Severity   string `json:"severity"`
	Definition string `json:"definition"`
	Why        string `json:"why"`
	Source     string `json:"source"`
}

// PageSetting is one threshold of a page.
type PageSetting struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Page writes the set out in full in the words of a catalog; s may be nil.
func (s *RuleSet) Page(c *Catalog) Page {
	page := Page{Name: s.Title()}
	for _, r := range suite {
		words := c.Rules[r.ID]
		page.Rules = append(page.Rules, PageRule{
			ID: r.ID, Name: words.Name, Family: c.Families[r.Family.String()],
			Severity:   c.Severities[s.SeverityOf(r).String()],
			Definition: words.Definition, Why: c.Why(r.ID), Source: r.Source.String(),
		})
	}
	limits := s.limits()
	for _, setting := range settings {
		page.Settings = append(page.Settings, PageSetting{setting.Name, setting.Get(&limits)})
	}
	for _, voice := range [...]string{"S", "A", "T", "B"} {
		if r, ok := limits.Ranges[voice]; ok {
			page.Ranges = append(page.Ranges, PageSetting{c.voice(voice), r.String()})
		}
	}
	return page
}
