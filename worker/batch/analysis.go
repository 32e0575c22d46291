package batch

import (
	"bytes"
	"encoding/json"

	"partwright/worker"
	"partwright/worker/report"
	"partwright/worker/store"
)

// Analysis are the tables of one score: the harmonic analysis in its forms, and the
// voices. What was not asked for is empty.
type Analysis struct {
	// RomanText is the analysis in that format.
	RomanText string `json:"romantext,omitempty"`
	// Report is the same as JSON, Harmonies as CSV.
	Report    json.RawMessage `json:"report,omitempty"`
	Harmonies string          `json:"harmonies,omitempty"`
	// Statistics are the counts of this score.
	Statistics *report.HarmonyStatistics `json:"statistics,omitempty"`
	// Voices are the notes of every voice as CSV.
	Voices string `json:"voices,omitempty"`
}

// analyze makes the tables that a recipe asks for, nil for none.
func analyze(r *worker.Result, recipe *recipe) (store.Blob, error) {
	if !recipe.Analysis && !recipe.voices {
		return nil, nil
	}
	var a Analysis
	if recipe.voices {
		table, err := report.VoicesCSV(r.Texture)
		if err != nil {
			return nil, err
		}
		a.Voices = string(table)
	}
	if recipe.Analysis {
		if err := a.harmony(r); err != nil {
			return nil, err
		}
	}
	// As it was written: no escapes for HTML.
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil {
		return nil, err
	}
	return store.Pack(b.Bytes()), nil
}

func (a *Analysis) harmony(r *worker.Result) error {
	a.Statistics = &report.HarmonyStatistics{}
	a.Statistics.Add(r.Harmony)
	text, err := report.RomanText(r.Report.Score.Title, r.Harmony)
	if err != nil {
		return err
	}
	a.RomanText = string(text)
	if a.Report, err = report.AnalysisJSON(r.Texture, r.Harmony); err != nil {
		return err
	}
	table, err := report.HarmoniesCSV(r.Report.File, r.Texture, r.Harmony)
	a.Harmonies = string(table)
	return err
}
