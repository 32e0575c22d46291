package api

import (
	"encoding/json"
	"strings"
	"testing"

	"partwright/worker"
)

// An analysis posted beside the score counts as the field given says. The labels
// are those of the model answer of the demo class but for measure 2, where the
// notes are IV.
func TestLabelsBesideTheScore(t *testing.T) {
	s := newService(t, enginePool(t, nil, worker.PoolConfig{}), Config{})
	score := field{"score", "model.musicxml", string(demo(t, "model.musicxml"))}
	labels := field{"labels", "model.rntxt", "m1 G: I b2 V6 b3 I b4 vi\nm2 V6 b2 V7 b3 I\nm3 ii b2 ii65 b3 V\nm4 I\n"}
	for _, tt := range []struct {
		name, given string
		disagrees   bool
		numeral     string // of the fifth harmony
	}{
		{"steer by default", "", true, "IV"},
		{"steer", "steer", true, "IV"},
		{"replace", "replace", true, "V6"},
		{"ignore", "ignore", false, "IV"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s.t = t
			fields := []field{score, labels, {"analysis", "", "true"}}
			if tt.given != "" {
				fields = append(fields, field{"given", "", tt.given})
			}
			w := s.do(form(t, "/v1/checks", fields...))
			var report struct {
				Findings []struct{ Rule, Measure string }
				Analysis *worker.AnalysisReport
			}
			if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || report.Analysis == nil {
				t.Fatalf("%v %s", err, w.Body)
			}
			disagrees := false
			for _, f := range report.Findings {
				disagrees = disagrees || f.Rule == "label-disagrees" && f.Measure == "2"
			}
			if disagrees != tt.disagrees {
				t.Errorf("a label disagrees: %t, want %t", disagrees, tt.disagrees)
			}
			if got := report.Analysis.Harmonies[4].Numeral; got != tt.numeral {
				t.Errorf("measure 2 is %s, want %s", got, tt.numeral)
			}
		})
	}
	for _, tt := range []struct {
		field field
		want  *kind
		says  string
	}{
		{field{"labels", "", "to be sung softly"}, unreadableLabels, "holds no numeral"},
		{field{"labels", "", strings.Repeat("m1 C: I\n", 40<<10)}, invalidRequest, "labels has more than"},
		{field{"given", "", "perhaps"}, invalidRequest, "steer, replace, ignore"},
	} {
		p := s.problem(s.do(form(t, "/v1/checks", score, tt.field)))
		if p.Type != tt.want.uri() || !strings.Contains(p.Detail, tt.says) {
			t.Errorf("%s: %s %q, want %s and %q", tt.field.name, p.Type, p.Detail, tt.want.uri(), tt.says)
		}
	}
}
