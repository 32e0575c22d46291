package partwriting

import "partwright/theory"

// Catalog holds the words of one language.
type Catalog struct{}

// CatalogFor returns the catalog of a language tag such as "en", and false where
// there is none.
func CatalogFor(language string) (*Catalog, bool) { return &Catalog{}, language == "en" }

// Message returns the sentence that says what a finding is and where.
func (c *Catalog) Message(f *Finding, t *theory.Texture) string { return string(f.Rule) }

// Why returns why a rule matters and how to mend it, for the student.
func (c *Catalog) Why(rule RuleID) string { return "" }

// Place returns where a finding is, such as "measure 3, beat 2".
func (c *Catalog) Place(f *Finding, t *theory.Texture) string { return "" }

// KeyHeading returns the line above the key to n numbers in a marked score.
func (c *Catalog) KeyHeading(n int) string { return "" }
