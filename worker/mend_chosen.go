package worker

import (
	"fmt"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// chosenFindings are the findings that a request names, nil where it names none.
// A name that meets no finding of the severity is the caller's mistake, unless many
// scores are mended alike.
func chosenFindings(t *theory.Texture, a *harmony.Analysis, r *MendRequest) ([]partwriting.Finding, error) {
	if len(r.Only) == 0 {
		return nil, nil
	}
	all := partwriting.Check(t, a, r.RuleSet)
	out := []partwriting.Finding{}
	for _, name := range r.Only {
		rule, err := ruleNamed(name)
		if err != nil {
			return nil, err
		}
		_, label, placed := strings.Cut(name, "@")
		before := len(out)
		for _, f := range all {
			if f.Rule == rule && f.Severity >= max(r.Severity, partwriting.Remark) && (!placed || t.Score.MeasureAt(f.Onset).Label == label) {
				out = append(out, f)
			}
		}
		if len(out) == before && !r.Alike {
			return nil, &RequestError{fmt.Sprintf("nothing of the chosen severity is found for %q; name a rule, or a rule in a measure as in parallel-fifths@3", name)}
		}
	}
	return out, nil
}

// ruleNamed is the rule of the name of a finding, which may have a measure after it.
func ruleNamed(finding string) (partwriting.RuleID, error) {
	id, _, _ := strings.Cut(finding, "@")
	if partwriting.RuleByID(partwriting.RuleID(id)) == nil {
		return "", &RequestError{fmt.Sprintf("there is no rule %q", id)}
	}
	return partwriting.RuleID(id), nil
}

func voicesNamed(t *theory.Texture, names []string, alike bool) ([]int, error) {
	var out []int
	for _, name := range names {
		found := false
		for v := range t.Voices {
			if t.Voices[v].Name == name {
				out, found = append(out, v), true
			}
		}
		if !found && !alike {
			return nil, &RequestError{fmt.Sprintf("there is no voice %q in this score", name)}
		}
	}
	return out, nil
}

func measuresLabeled(s *theory.Score, labels []string, alike bool) ([]int, error) {
	var out []int
	for _, label := range labels {
		found := false
		for i := range s.Measures {
			if s.Measures[i].Label == label {
				out, found = append(out, i), true
			}
		}
		if !found && !alike {
			return nil, &RequestError{fmt.Sprintf("there is no measure %q in this score", label)}
		}
	}
	return out, nil
}
