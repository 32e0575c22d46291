package api

import (
	"encoding/json"
	"testing"

	"partwright/worker/pool"
	"partwright/worker/report"
)

// The model of the demo class ends with a perfect cadence, as testdata/README.md
// says.
func TestAnalysisOnRequest(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := string(demo(t, "model.musicxml"))
	for _, tt := range []struct {
		name, query string
		asked       bool
	}{
		{"unasked", "", false},
		{"asked", "?analysis=true", true},
		{"asked not to", "?analysis=false", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s.t = t
			w := s.do(post("/v1/checks"+tt.query, score, "Accept", typeJSON))
			var value any
			if err := json.Unmarshal(w.Body.Bytes(), &value); err != nil {
				t.Fatal(err)
			}
			if err := compileReportSchema(t, s.server.handlers.contract.reportSchema).Validate(value); err != nil {
				t.Errorf("the report is not as the schema has it: %v", err)
			}
			var report struct {
				Score    struct{ Notes int }
				Analysis *report.Analysis
			}
			if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil {
				t.Fatal(err)
			}
			if (report.Analysis != nil) != tt.asked {
				t.Fatalf("there is an analysis: %t, want %t", report.Analysis != nil, tt.asked)
			}
			if !tt.asked {
				return
			}
			a := report.Analysis
			if last := a.Cadences[len(a.Cadences)-1]; last.Kind != "PAC" || last.To != "I" {
				t.Errorf("the last cadence is %+v", last)
			}
			if len(a.Harmonies) < 4 || len(a.Phrases) == 0 || len(a.Notes) < report.Score.Notes/2 {
				t.Errorf("%d harmonies, %d phrases, %d notes of %d", len(a.Harmonies), len(a.Phrases), len(a.Notes), report.Score.Notes)
			}
		})
	}
}
