package classroom

import (
	"cmp"
	"slices"
	"strings"

	"partwright/worker/report"
	"partwright/worker/request"
)

// Changes is what became of the findings of one attempt in the next.
type Changes struct {
	Mended []Kept `json:"mended"`
	New    []Kept `json:"new"`
	Stays  []Kept `json:"stays"`
}

// Kept is a finding in few words.
type Kept struct {
	Rule    string `json:"rule"`
	Measure string `json:"measure"`
	Beat    string `json:"beat"`
	Message string `json:"message"`
}

// Between compares the faults and cautions of two attempts. A finding is the same where
// the same rule speaks at the same beat of the same voices.
func Between(before, after *Marking) Changes {
	c := Changes{Mended: []Kept{}, New: []Kept{}, Stays: []Kept{}}
	old, now := gravest(before), gravest(after)
	for i := range old {
		if !slices.ContainsFunc(now, old[i].sameAs) {
			c.Mended = append(c.Mended, old[i].Kept)
		}
	}
	for i := range now {
		if slices.ContainsFunc(old, now[i].sameAs) {
			c.Stays = append(c.Stays, now[i].Kept)
		} else {
			c.New = append(c.New, now[i].Kept)
		}
	}
	return c
}

// placed is a finding with the voices concerned.
type placed struct {
	Kept
	voices []string
}

func (p *placed) sameAs(q placed) bool {
	return p.Rule == q.Rule && p.Measure == q.Measure && p.Beat == q.Beat && slices.Equal(p.voices, q.voices)
}

// gravest are the findings of a marking but for remarks; unmet demands are among them.
func gravest(m *Marking) []placed {
	var out []placed
	if m.Report != nil {
		for i := range m.Report.Findings {
			if f := &m.Report.Findings[i]; counts(f) {
				out = append(out, placed{Kept{f.Rule, f.Measure, f.BeatExact, f.Message}, f.Voices})
			}
		}
	}
	for i := range m.Unmet {
		u := &m.Unmet[i]
		out = append(out, placed{Kept: Kept{demandRule + u.Kind, u.Measure, u.Beat, u.Message}})
	}
	return out
}

// counts reports whether a finding is a fault or a caution.
func counts(f *report.Finding) bool { return f.Severity == "fault" || f.Severity == "caution" }

// Judging is by which rules and rubric hand-ins are marked again: names, or files of the
// teacher's own in their place. What is left out stays as it is.
type Judging struct {
	Rules     string         `json:"rules,omitempty"`
	Rubric    string         `json:"rubric,omitempty"`
	OwnRules  request.Source `json:"own_rules,omitzero"`
	OwnRubric request.Source `json:"own_rubric,omitzero"`
}

// String says it for the log.
func (j *Judging) String() string {
	var parts []string
	say := func(what, name string, own request.Source) {
		switch {
		case own.Text != "":
			parts = append(parts, what+": "+cmp.Or(name, own.Name))
		case name != "":
			parts = append(parts, what+": "+name)
		}
	}
	say("rules", j.Rules, j.OwnRules)
	say("rubric", j.Rubric, j.OwnRubric)
	return strings.Join(parts, ", ")
}

// JudgedBy is the assignment with other rules or another rubric.
func (a *Assignment) JudgedBy(j *Judging) (*Assignment, error) {
	if j.String() == "" {
		return nil, &FieldError{"rules", "say what is to be other: the rules or the rubric"}
	}
	other := *a
	if j.Rules != "" || j.OwnRules.Text != "" {
		other.Rules, other.OwnRules = j.Rules, j.OwnRules
	}
	if j.Rubric != "" || j.OwnRubric.Text != "" {
		other.Rubric, other.OwnRubric = j.Rubric, j.OwnRubric
	}
	return &other, other.Check()
}

// Remarked is what marking again by other rules, or by another rubric, would change for
// one hand-in.
type Remarked struct {
	Reference string `json:"reference"`
	Attempt   int    `json:"attempt"`
	// From and To are the marks before and after, nil for none. Kept is set where the
	// teacher has set the mark, which then stays.
	From *Points `json:"from"`
	To   *Points `json:"to"`
	Kept bool    `json:"kept"`
	// Released is set where the mark was released: it would be another at once.
	Released bool `json:"released"`
	// Changes are those of the findings.
	Changes Changes `json:"changes"`
}

// WouldChange lists the hand-ins whose mark or findings are others after marking again.
// Both lists are of the same hand-ins in the same order.
func WouldChange(before, after *Assignment, old, now []HandIn, log Log) []Remarked {
	out := []Remarked{}
	for i := range old {
		from, to := before.Outcome(&old[i], log), after.Outcome(&now[i], log)
		r := Remarked{
			Reference: old[i].Reference, Attempt: old[i].Attempt, From: from.Mark, To: to.Mark, Kept: to.ChangedBy != "", Released: from.Released,
			Changes: Between(old[i].Marking, now[i].Marking),
		}
		if markOf(&from) != markOf(&to) || len(r.Changes.Mended)+len(r.Changes.New) > 0 {
			out = append(out, r)
		}
	}
	return out
}
