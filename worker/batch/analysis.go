package batch

import (
	"encoding/json"

	"partwright/worker"
)

// Analysis is the harmonic analysis of one score in its forms.
type Analysis struct {
	// RomanText is the analysis in that format.
	RomanText string `json:"romantext"`
	// Report is the same as JSON, Harmonies as CSV.
	Report    json.RawMessage `json:"report"`
	Harmonies string          `json:"harmonies"`
	// Statistics are the counts of this score.
	Statistics *worker.HarmonyStatistics `json:"statistics"`
}

func analyze(r *worker.Result) ([]byte, error) {
	a := Analysis{Statistics: &worker.HarmonyStatistics{}}
	a.Statistics.Add(r.Harmony)
	text, err := worker.RomanText(r.Report.Score.Title, r.Harmony)
	if err != nil {
		return nil, err
	}
	a.RomanText = string(text)
	if a.Report, err = worker.AnalysisJSON(r.Texture, r.Harmony); err != nil {
		return nil, err
	}
	table, err := worker.HarmoniesCSV(r.Report.File, r.Texture, r.Harmony)
	if err != nil {
		return nil, err
	}
	a.Harmonies = string(table)
	return json.Marshal(a)
}
