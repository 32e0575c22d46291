package worker

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/worker/request"
)

// chosenFindings are the findings that a plan names, nil where it names none. A name
// that meets no finding of the severity is the caller's mistake, unless many scores are
// mended alike.
func chosenFindings(r *Reading, plan *request.MendPlan, rules *partwriting.RuleSet) ([]partwriting.Finding, error) {
	if len(plan.Only) == 0 {
		return nil, nil
	}
	all := partwriting.Check(r.texture, r.harmony, rules)
	out := []partwriting.Finding{}
	for _, wanted := range plan.Only {
		before := len(out)
		for i := range all {
			if f := &all[i]; f.Severity >= plan.Severity && wanted.Meets(f, r.texture.Score.MeasureAt(f.Onset).Label) {
				out = append(out, *f)
			}
		}
		if len(out) == before && !plan.Alike {
			return nil, &RequestError{Problem: fmt.Sprintf("nothing of the chosen severity is found for %q; name a rule, or a rule in a measure as in parallel-fifths@3", wanted.Text)}
		}
	}
	return out, nil
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
			return nil, &RequestError{Problem: fmt.Sprintf("there is no voice %q in this score", name)}
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
			return nil, &RequestError{Problem: fmt.Sprintf("there is no measure %q in this score", label)}
		}
	}
	return out, nil
}
