package worker

import (
	"encoding/json"

	"partwright/theory/partwriting"
)

// MarkReport is what a rubric makes of the findings: a proposal.
type MarkReport struct {
	Rubric string `json:"rubric"`
	Source string `json:"source"`
	// Earned and Available are in points, half points as ".5".
	Earned    json.Number      `json:"earned"`
	Available json.Number      `json:"available"`
	Lines     []MarkLineReport `json:"lines"`
	// Phrases says what each phrase costs, in order.
	Phrases []MarkPhraseReport `json:"phrases"`
	// Praise says what is well done, in the language of the answer, where the
	// rubric asks for it and there is something to say.
	Praise []string `json:"praise,omitempty"`
	// Note says that the teacher decides, in the language of the answer.
	Note string `json:"note"`
}

// MarkLineReport is what one rule costs.
type MarkLineReport struct {
	Rule   string      `json:"rule"`
	Count  int         `json:"count"`
	Lost   json.Number `json:"lost"`
	Capped bool        `json:"capped"`
}

// MarkPhraseReport is what one phrase costs.
type MarkPhraseReport struct {
	// Measure is the printed label of the measure in which the phrase begins,
	// MeasureIndex counts from 0.
	Measure      string `json:"measure"`
	MeasureIndex int    `json:"measure_index"`
	// Available is what the phrase is worth, 0 where the rubric counts by the
	// whole work.
	Available json.Number `json:"available"`
	Lost      json.Number `json:"lost"`
	Capped    bool        `json:"capped"`
}

func markReport(r *Result, o Options, catalog *partwriting.Catalog) *MarkReport {
	mark := o.Rubric.Mark(partwriting.NewPassage(r.Texture, r.Harmony, o.RuleSet), r.Findings)
	out := &MarkReport{
		Rubric: mark.Rubric, Source: o.Rubric.Source.String(), Note: catalog.MarkNote,
		Earned: number(mark.Earned), Available: number(mark.Available),
		Lines: make([]MarkLineReport, 0, len(mark.Lines)), Phrases: make([]MarkPhraseReport, 0, len(mark.Phrases)),
	}
	for _, l := range mark.Lines {
		out.Lines = append(out.Lines, MarkLineReport{Rule: string(l.Rule), Count: l.Count, Lost: number(l.Lost), Capped: l.Capped})
	}
	for _, p := range mark.Phrases {
		out.Phrases = append(out.Phrases, MarkPhraseReport{
			Measure: r.Document.Score.Measures[p.Measure].Label, MeasureIndex: p.Measure,
			Available: number(p.Available), Lost: number(p.Lost), Capped: p.Capped,
		})
	}
	for _, praise := range mark.Praise {
		out.Praise = append(out.Praise, catalog.Praises[praise])
	}
	return out
}

func number(p partwriting.Points) json.Number { return json.Number(p.String()) }
