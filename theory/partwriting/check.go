package partwriting

import "partwright/theory"

// Check runs the rules of a set over a texture and returns the findings in the
// order a reader meets them: by onset, then voice from the top, then rule.
func Check(t *theory.Texture, set *RuleSet) []Finding { return nil }
