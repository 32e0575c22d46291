package report

import (
	"encoding/json"
)

// Grade is what a rubric makes of the findings: a proposal.
type Grade struct {
	Rubric string `json:"rubric"`
	Source string `json:"source"`
	// Earned and Available are in points, half points as ".5".
	Earned    json.Number `json:"earned"`
	Available json.Number `json:"available"`
	Lines     []GradeLine `json:"lines"`
	// Phrases says what each phrase costs, in order.
	Phrases []GradePhrase `json:"phrases"`
	// Praise says what is well done, in the language of the answer, where the
	// rubric asks for it and there is something to say.
	Praise []string `json:"praise,omitempty"`
	// Note says that the teacher decides, in the language of the answer.
	Note string `json:"note"`
}

// GradeLine is what one rule costs.
type GradeLine struct {
	Rule   string      `json:"rule"`
	Count  int         `json:"count"`
	Lost   json.Number `json:"lost"`
	Capped bool        `json:"capped"`
}

// GradePhrase is what one phrase costs.
type GradePhrase struct {
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
