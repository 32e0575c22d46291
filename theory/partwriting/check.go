package partwriting

import "partwright/theory"

// Check runs the rules of a set (nil for the default set) over a texture and
// returns what they find in the order a reader meets it. The same texture and
// set always give the same findings.
func Check(t *theory.Texture, set *RuleSet) []Finding {
	p := NewPassage(t, set)
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
