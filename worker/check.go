package worker

import (
	"context"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// checked is a score that has been checked.
type checked struct {
	*Reading
	input    *Input
	plan     *request.CheckPlan
	passage  *partwriting.Passage
	findings []partwriting.Finding
	// first are the indexes of those to mend first.
	first []int
	// ids are nil where they were not asked for.
	ids *musicxml.IDs
	// looked of faulty faults and cautions had ways to mend them looked for.
	looked, faulty int
}

// check reads a score, finds its voices, checks them, and marks the score if asked.
func (e *Engine) check(ctx context.Context, in Input, plan *request.CheckPlan) (*answer.Answer, error) {
	go written() // the first time it takes as long as a small score
	if plan.Revision != nil {
		var err error
		if in, err = e.revised(ctx, in, plan.Revision); err != nil {
			return nil, err
		}
	}
	reading, err := e.read(ctx, &in, harmonyWish{plan.Given, plan.Style, plan.Fixes > 0 || plan.Pupil})
	if err != nil {
		return nil, err
	}
	c := &checked{Reading: reading, input: &in, plan: plan}
	if plan.IDs {
		c.ids = c.document.IDs()
	}
	a := &answer.Answer{Texture: c.texture}
	err = e.stages(ctx, []step{
		{stage.Check, func() error {
			c.passage = partwriting.NewPassage(c.texture, c.harmony, rulesWith(plan, c.texture))
			c.findings = c.passage.Check()
			c.first = partwriting.First(c.findings, mostFirst)
			c.suggestFixes(ctx)
			a.Report = e.report(c)
			return nil
		}},
		{stage.Write, func() error { return c.write(a) }},
	})
	if err != nil {
		return nil, err
	}
	return a, nil
}

// suggestFixes looks for the ways to mend that were asked for; a pupil is told one for
// each finding to mend first.
func (c *checked) suggestFixes(ctx context.Context) {
	options := partwriting.FixOptions{PerFinding: c.plan.Fixes, Only: c.plan.FixesFor}
	if options.PerFinding == 0 && c.plan.Pupil {
		options.PerFinding = 1
		options.Among = make([]int, 0, len(c.first))
		for _, i := range c.first {
			options.Among = append(options.Among, i+1)
		}
	}
	if options.PerFinding == 0 {
		return
	}
	soon, cancel := early(ctx)
	defer cancel()
	options.Stop = stopWith(soon)
	c.looked, c.faulty = c.passage.SuggestFixes(c.findings, options)
}

// write adds the files that were asked for.
func (c *checked) write(a *answer.Answer) error {
	if c.plan.Marks {
		marked, err := c.document.Mark(marksFor(c))
		if err != nil {
			return err
		}
		a.AddScore(answer.Marked, 0, marked)
	}
	if c.plan.Revision != nil {
		revised, err := c.unmarked()
		if err != nil {
			return err
		}
		a.AddScore(answer.Revised, 0, revised)
	}
	if c.plan.Voices {
		table, err := report.VoicesCSV(c.texture)
		if err != nil {
			return err
		}
		a.Add(answer.VoicesSuffix, table)
	}
	if c.plan.Analysis && c.plan.Files {
		return c.tabulate(a)
	}
	return nil
}

// FilesOf lists the suffixes of the files that a check comes to beside its report, in
// their order; of each several there is one.
func FilesOf(plan *request.CheckPlan) (all [][]string) {
	if plan.Marks {
		all = append(all, answer.Marked.Suffixes())
	}
	if plan.Voices {
		all = append(all, []string{answer.VoicesSuffix})
	}
	if plan.Analysis && plan.Files {
		all = append(all, []string{answer.RomanTextSuffix}, []string{answer.AnalysisSuffix}, []string{answer.HarmoniesSuffix})
	}
	return all
}

// tabulate adds the analysis in its forms.
func (c *checked) tabulate(a *answer.Answer) error {
	a.Statistics = &report.HarmonyStatistics{}
	a.Statistics.Add(report.NewAnalysis(c.texture, c.harmony))
	text, err := report.RomanText(c.document.Score.Title, c.harmony)
	if err != nil {
		return err
	}
	whole, err := report.AnalysisJSON(c.texture, c.harmony)
	if err != nil {
		return err
	}
	table, err := report.HarmoniesCSV(c.input.Name, c.texture, c.harmony)
	if err != nil {
		return err
	}
	a.Add(answer.RomanTextSuffix, text)
	a.Add(answer.AnalysisSuffix, whole)
	a.Add(answer.HarmoniesSuffix, table)
	return nil
}
