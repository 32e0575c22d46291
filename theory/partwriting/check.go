package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Check runs the rules of a set (nil for the default set) over a texture and its
// harmonic reading and returns what they find in the order a reader meets it.
// Without a reading (nil) the rules that need one are silent. The same input
// always gives the same findings.
func Check(t *theory.Texture, a *harmony.Analysis, set *RuleSet) []Finding {
	p := NewPassage(t, a, set)
	if len(p.Moments) == 0 {
		return nil
	}
	var findings []Finding
	for _, r := range suite {
		severity := set.SeverityOf(r)
		if severity == Off {
			continue
		}
		for _, f := range r.Check(p) {
			f.Rule, f.Family = r.ID, r.Family
			if f.Severity == Off || f.Severity > severity {
				f.Severity = severity
			}
			findings = append(findings, f)
		}
	}
	inReadingOrder(findings)
	return findings
}
