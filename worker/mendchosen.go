package worker

import (
	"fmt"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// chosenFindings are the findings that a request names, nil where it names none.
// A name that meets no finding of the severity is the caller's mistake.
func chosenFindings(t *theory.Texture, a *harmony.Analysis, r *MendRequest) ([]partwriting.Finding, error) {
	if len(r.Only) == 0 {
		return nil, nil
	}
	all := partwriting.Check(t, a, r.RuleSet)
	var out []partwriting.Finding
	for _, name := range r.Only {
		rule, label, placed := strings.Cut(name, "@")
		if partwriting.RuleByID(partwriting.RuleID(rule)) == nil {
			return nil, &RequestError{fmt.Sprintf("there is no rule %q", rule)}
		}
		before := len(out)
		for _, f := range all {
			if string(f.Rule) == rule && f.Severity >= max(r.Severity, partwriting.Remark) && (!placed || t.Score.MeasureAt(f.Onset).Label == label) {
				out = append(out, f)
			}
		}
		if len(out) == before {
			return nil, &RequestError{fmt.Sprintf("nothing of the chosen severity is found for %q; name a rule, or a rule in a measure as in parallel-fifths@3", name)}
		}
	}
	return out, nil
}

func voicesNamed(t *theory.Texture, names []string) ([]int, error) {
	var out []int
	for _, name := range names {
		found := false
		for v := range t.Voices {
			if t.Voices[v].Name == name {
				out, found = append(out, v), true
			}
		}
		if !found {
			return nil, &RequestError{fmt.Sprintf("there is no voice %q in this score", name)}
		}
	}
	return out, nil
}

func measuresLabeled(s *theory.Score, labels []string) ([]int, error) {
	var out []int
	for _, label := range labels {
		found := false
		for i := range s.Measures {
			if s.Measures[i].Label == label {
				out, found = append(out, i), true
			}
		}
		if !found {
			return nil, &RequestError{fmt.Sprintf("there is no measure %q in this score", label)}
		}
	}
	return out, nil
}
