package api

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"partwright/worker/pool"
)

// marked is what a check says of mark and findings.
type marked struct {
	Mark *struct {
		Rubric, Note      string
		Earned, Available float64
		Lines             []struct{ Rule string }
		Phrases           []struct{ Lost float64 }
	}
	Findings []struct{ Rule, Severity, Measure, Message string }
}

func readMarked(t *testing.T, body []byte) marked {
	t.Helper()
	var m marked
	if err := json.Unmarshal(body, &m); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	return m
}

// The hand-in of the demo class has four faults (testdata/README.md): a hundred
// points less three for each, by the scheme of the rubric's source. Every mark says
// that the teacher decides.
func TestMarkIsProposedOnRequest(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := field{"score", "hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}
	if m := readMarked(t, s.do(post("/v1/checks", score.value)).Body.Bytes()); m.Mark != nil {
		t.Errorf("a mark that nobody asked for: %+v", m.Mark)
	}
	m := readMarked(t, s.do(post("/v1/checks?rubric=hundred", score.value)).Body.Bytes())
	if m.Mark == nil || m.Mark.Earned != 88 || m.Mark.Available != 100 || len(m.Mark.Phrases) != 2 || m.Mark.Note != "The mark is a proposal. The teacher decides." {
		t.Fatalf("%+v, want 88 of 100 in two phrases", m.Mark)
	}
	own := "name: quiz\npoints: 20\nrules: {parallel-fifths: 5}\n"
	m = readMarked(t, s.do(form(t, "/v1/checks", score, field{"own_rubric", "quiz.yaml", own}, field{"language", "", "de"})).Body.Bytes())
	if m.Mark == nil || m.Mark.Rubric != "quiz" || m.Mark.Earned != 15 || !strings.Contains(m.Mark.Note, "Die Lehrkraft entscheidet") {
		t.Fatalf("%+v, want 15 of 20 by the rubric of one's own", m.Mark)
	}
	for _, tt := range []struct {
		fields []field
		want   *kind
		says   string
	}{
		{[]field{{"rubric", "", "best"}}, unknownRubric, "does not exist"},
		{[]field{{"rubric", "", "hundred"}, {"own_rubric", "quiz.yaml", own}}, invalidRequest, "only one can apply"},
		{[]field{{"own_rubric", "quiz.yaml", own + "most-a-rul: 3\n"}}, unreadableRubric, "quiz.yaml:4: most-a-rul is not known, did you mean most-a-rule?"},
		{[]field{{"accepted", "let.yaml", "3: [paralel-fifths]\n"}}, unreadableRuleSet, "let.yaml:1: there is no rule"},
	} {
		p := s.problem(s.do(form(t, "/v1/checks", append([]field{score}, tt.fields...)...)))
		if p.Type != tt.want.uri() || !strings.Contains(p.Detail, tt.says) {
			t.Errorf("%v: %+v", tt.fields, p)
		}
	}
}

// What the teacher lets stand in a score comes as a remark that says so, and no
// longer counts.
func TestAcceptedFindings(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := field{"score", "hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}
	m := readMarked(t, s.do(form(t, "/v1/checks", score, field{"rubric", "", "hundred"}, field{"accepted", "", `{"1": ["parallel-fifths"]}`})).Body.Bytes())
	if m.Mark.Earned != 91 {
		t.Errorf("%+v, want 91", m.Mark)
	}
	accepted := 0
	for _, f := range m.Findings {
		if f.Rule == "parallel-fifths" && f.Measure == "1" {
			accepted++
			if f.Severity != "remark" || !strings.Contains(f.Message, "the teacher has accepted this") {
				t.Errorf("%+v", f)
			}
		}
	}
	if accepted != 1 {
		t.Errorf("%d findings are accepted, want 1", accepted)
	}
}

// A rule set is shown in full, to programs and to readers.
func TestRuleSetInFull(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	w := s.do(get("/v1/rule-sets/free"))
	var page RuleSetPage
	if err := json.Unmarshal(w.Body.Bytes(), &page); err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d %v", w.Code, err)
	}
	for _, r := range page.Rules {
		if r.Definition == "" || r.Source == "" || r.Why == "" {
			t.Errorf("%+v is not in full", r)
		}
	}
	if len(page.Settings) == 0 || len(page.Ranges) != 4 || page.Ranges[3] != (VoiceRange{Voice: "B", Low: "E2", High: "D4"}) {
		t.Errorf("settings %v, ranges %v", page.Settings, page.Ranges)
	}
	w = s.do(get("/v1/rule-sets/free", "Accept", "text/html", "Accept-Language", "de"))
	if w.Header().Get("Content-Type") != "text/html; charset=utf-8" || !strings.Contains(w.Body.String(), "<h1>Regelwerk: free</h1>") {
		t.Errorf("%v %.200s", w.Header(), w.Body)
	}
	if p := s.problem(s.do(get("/v1/rule-sets/no-such-set"))); p.Type != notFound.uri() {
		t.Errorf("%+v", p)
	}
	if p := s.problem(s.do(get("/v1/rule-sets/free", "Accept", "image/png"))); p.Type != notAcceptable.uri() {
		t.Errorf("%+v", p)
	}
}

func TestRubricsAreListed(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	var list RubricList
	if err := json.Unmarshal(s.do(get("/v1/rubrics")).Body.Bytes(), &list); err != nil {
		t.Fatal(err)
	}
	for _, r := range list.Rubrics {
		if r.Name == "hundred" && r.Points == 100 && r.Faults == 3 && strings.Contains(r.Source, "Wieland") {
			return
		}
	}
	t.Errorf("%+v lists no rubric hundred", list)
}
