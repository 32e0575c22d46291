package api

import (
	"encoding/json"
	"strings"
	"testing"

	"partwright/worker/pool"
	"partwright/worker/report"
)

// An analysis posted beside the score counts as the field given says. The labels
// are those of the model answer of the demo class but for measure 2, where the
// notes are IV.
func TestLabelsBesideTheScore(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
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
				Analysis *report.Analysis
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
			if n := len(report.Analysis.Labels); (n > 0) != tt.disagrees {
				t.Errorf("%d labels are heeded", n)
			}
			for i, l := range report.Analysis.Labels {
				if l.Source != "romantext" || l.BorneOut != (i != 4) || i == 4 && (l.Heard != "G major: IV" || l.Symbol != "D/F#") {
					t.Errorf("label %d: %+v", i, l)
				}
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
		{field{"labels", "a.rntxt", "m1 I b3 V\n"}, unreadableLabels, "before any key"},
		{field{"labels", "a.rntxt", "m1\n"}, unreadableLabels, "holds no numeral"},
		{field{"labels", "", strings.Repeat("m1 C: I\n", 40<<10)}, invalidRequest, "labels has more than"},
		{field{"given", "", "perhaps"}, invalidRequest, "steer, replace, ignore"},
	} {
		p := s.problem(s.do(form(t, "/v1/checks", score, tt.field)))
		if p.Type != tt.want.uri() || !strings.Contains(p.Detail, tt.says) {
			t.Errorf("%s: %s %q, want %s and %q", tt.field.name, p.Type, p.Detail, tt.want.uri(), tt.says)
		}
	}
}

// What of the analysis stands in the marked score is asked for by name, in a form or
// by query.
func TestAnnotateOnRequest(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := string(demo(t, "model.musicxml"))
	marked := s.do(post("/v1/checks?annotate=numerals,symbols", score, "Accept", typeMusicXML)).Body.String()
	// A numeral is printed as a lyric, and its own element prints nothing.
	if !strings.Contains(marked, "<text>G: I</text>") || !strings.Contains(marked, `<numeral-root text="">1</numeral-root>`) || !strings.Contains(marked, "<root-step>") || strings.Contains(marked, "<figured-bass") {
		t.Error("numerals and symbols were asked for, no figures")
	}
	if clean := s.do(post("/v1/cleanings", marked)).Body.String(); clean != score {
		t.Error("they do not come off")
	}
	request := form(t, "/v1/checks", field{"score", "", score}, field{"annotate", "", "figures"})
	request.Header.Set("Accept", typeMusicXML)
	if marked := s.do(request).Body.String(); !strings.Contains(marked, "<figured-bass") || strings.Contains(marked, "<numeral>") {
		t.Error("figures alone were asked for")
	}
	if p := s.problem(s.do(post("/v1/checks?annotate=numbers", score))); p.Type != invalidRequest.uri() {
		t.Errorf("the query: %+v", p)
	}
	if p := s.problem(s.do(form(t, "/v1/checks", field{"score", "", score}, field{"annotate", "", "numbers"}))); p.Type != invalidRequest.uri() || !strings.Contains(p.Detail, "annotate") || !strings.Contains(p.Advice, "numerals and figures") {
		t.Errorf("the field: %+v", p)
	}
}
