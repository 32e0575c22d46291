package worker

import (
	"strings"

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
	missing := ""
	if wants, has := voicesOfTask(c.plan.Task), len(c.texture.WithoutExtra().Voices); has > 0 && has < wants {
		missing = catalog.Phrase(partwriting.FewerVoices, "has", has, "wants", wants)
		out.Complete = false
		out.Problems = append(out.Problems, report.Problem{Kind: string(partwriting.VoiceMissing), Voices: []string{}, Message: missing})
	}
	if !out.Complete {
		out.Note = strings.TrimSpace(catalog.Phrase(partwriting.HandInIncomplete) + " " + missing)
	}
	return out
}

// voicesOfTask is how many voices an exercise wants: those that it gives and a staff for each
// that is to be written, 0 where it has no such staff.
func voicesOfTask(task *theory.Texture) int {
	if task == nil {
		return 0
	}
	labeled := map[int]bool{}
	for i := range task.Score.Chords {
		labeled[task.Score.Chords[i].Part] = true
	}
	for i := range task.Score.Figures {
		labeled[task.Score.Figures[i].Part] = true
	}
	blank := 0
	for i := range task.Score.Parts {
		if task.Score.Parts[i].Kind == theory.EmptyPart && !labeled[i] {
			blank++
		}
	}
	if blank == 0 {
		return 0
	}
	return blank + len(task.WithoutExtra().Voices)
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
