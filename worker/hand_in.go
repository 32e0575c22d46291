package worker

import (
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/worker/report"
	"partwright/worker/request"
)

// handInReport says whether the score is complete, by the findings about it.
func handInReport(c *checked) *report.HandIn {
	out := &report.HandIn{Complete: partwriting.Complete(c.findings), Problems: []report.Problem{}}
	catalog := c.plan.Catalog
	if len(c.passage.Moments) == 0 {
		out.Complete = false
		out.Problems = append(out.Problems, report.Problem{
			Kind: "silent", Voices: []string{}, Message: catalog.Word("texture-silent"),
		})
	}
	for i := range c.findings {
		f := &c.findings[i]
		if f.Problem == partwriting.NoProblem || f.Severity <= partwriting.Remark {
			continue
		}
		measure := &c.document.Score.Measures[f.Measure]
		problem := report.Problem{
			Kind: string(f.Problem), Finding: i + 1, Place: catalog.Place(f, c.texture),
			Measure: measure.Label, MeasureIndex: measure.Index, Voices: []string{}, Message: catalog.Message(f, c.texture),
		}
		for _, v := range f.Voices {
			problem.Voices = append(problem.Voices, c.texture.Voices[v].Name)
		}
		out.Problems = append(out.Problems, problem)
	}
	if !out.Complete {
		out.Note = catalog.Phrase(partwriting.HandInIncomplete)
	}
	return out
}

// rulesWith are the rules for a score, which know the task that was set.
func rulesWith(plan *request.CheckPlan, t *theory.Texture) *partwriting.RuleSet {
	rules := plan.For(t)
	if plan.Task == nil {
		return rules
	}
	own := *rules
	own.Task = plan.Task
	return &own
}
