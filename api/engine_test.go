package api

import (
	"bytes"
	"encoding/json"
	"mime"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/worker"
	"partwright/worker/pool"
)

// enginePool is the real thing behind the handlers.
func enginePool(t testing.TB, registry *prometheus.Registry, config pool.Config) *pool.Pool {
	t.Helper()
	var metrics *pool.Metrics
	if registry != nil {
		metrics = pool.NewMetrics(registry)
	}
	p, err := pool.New(config, &worker.Engine{Version: "test", Observe: metrics.ObserveStage}, metrics, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func demo(t testing.TB, name string) []byte {
	t.Helper()
	score, err := os.ReadFile(filepath.Join("..", "testdata", "class", name))
	if err != nil {
		t.Fatal(err)
	}
	return score
}

// The worksheet of the demo class was written with these faults, among others, in
// its measures 1, 2 and 8; testdata/README.md lists all.
func TestWorksheetIsCheckedAndMarked(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := demo(t, "worksheet.musicxml")
	w := s.do(post("/v1/checks", string(score), "Accept", typeMixed, "Content-Disposition", `attachment; filename="worksheet.musicxml"`))
	if w.Code != http.StatusOK {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	_, params, _ := mime.ParseMediaType(w.Header().Get("Content-Type"))
	parts := multipart.NewReader(w.Body, params["boundary"])
	first, err := parts.NextPart()
	if err != nil {
		t.Fatal(err)
	}
	var text, marked bytes.Buffer
	if _, err := text.ReadFrom(first); err != nil {
		t.Fatal(err)
	}
	second, err := parts.NextPart()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := marked.ReadFrom(second); err != nil {
		t.Fatal(err)
	}
	var value any
	if err := json.Unmarshal(text.Bytes(), &value); err != nil {
		t.Fatal(err)
	}
	if err := compileReportSchema(t, s.server.handlers.contract.reportSchema).Validate(value); err != nil {
		t.Errorf("the report is not as the schema has it: %v", err)
	}
	var report struct {
		File     string
		Findings []struct{ Rule string }
	}
	if err := json.Unmarshal(text.Bytes(), &report); err != nil {
		t.Fatal(err)
	}
	var rules []string
	for _, f := range report.Findings {
		rules = append(rules, f.Rule)
	}
	for _, rule := range []string{"parallel-fifths", "parallel-octaves", "voice-crossing"} {
		if !slices.Contains(rules, rule) {
			t.Errorf("no %s among %v", rule, rules)
		}
	}
	if report.File != "worksheet.musicxml" || bytes.Equal(marked.Bytes(), score) {
		t.Errorf("file %q; marked score of %d bytes after %d", report.File, marked.Len(), len(score))
	}
	clean := s.do(post("/v1/cleanings", marked.String()))
	if !bytes.Equal(clean.Body.Bytes(), score) {
		t.Error("the marks do not come off byte for byte")
	}
}

func TestModelAnswerHasNoFaults(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	for _, name := range []string{"model.musicxml"} {
		w := s.do(post("/v1/checks", string(demo(t, name))))
		var report struct{ Summary struct{ Faults int } }
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK {
			t.Fatalf("%s: %d %v", name, w.Code, err)
		}
		if report.Summary.Faults != 0 {
			t.Errorf("%s has %d faults: %s", name, report.Summary.Faults, w.Body)
		}
	}
}

func TestRuleSetAndLanguageReachTheEngine(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	strict := s.do(post("/v1/checks", string(demo(t, "worksheet.musicxml"))))
	free := s.do(post("/v1/checks?rule_set=free&language=de", string(demo(t, "worksheet.musicxml"))))
	var a, b struct {
		RuleSet  string `json:"rule_set"`
		Summary  struct{ Faults int }
		Findings []struct{ Rule, Message string }
	}
	for w, v := range map[*bytes.Buffer]any{strict.Body: &a, free.Body: &b} {
		if err := json.Unmarshal(w.Bytes(), v); err != nil {
			t.Fatal(err)
		}
	}
	if a.RuleSet != "strict-chorale" || b.RuleSet != "free" || a.Summary.Faults <= b.Summary.Faults {
		t.Errorf("%s finds %d faults, %s %d", a.RuleSet, a.Summary.Faults, b.RuleSet, b.Summary.Faults)
	}
	if free.Header().Get("Content-Language") != "de" || !strings.Contains(b.Findings[0].Message, "Quint") && !strings.Contains(free.Body.String(), "Stimme") {
		t.Errorf("not in German: %s", b.Findings[0].Message)
	}
}

// A rule set of one's own is read with the score, and what is wrong in it is told
// with its line.
func TestOwnRuleSet(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	worksheet := field{"score", "worksheet.musicxml", string(demo(t, "worksheet.musicxml"))}
	own := "name: first year\nrules:\n  parallel-fifths: remark\n  parallel-octaves: off\n"
	w := s.do(form(t, "/v1/checks", worksheet, field{"own_rule_set", "first.yaml", own}))
	var report struct {
		RuleSet  string `json:"rule_set"`
		Findings []struct{ Rule, Severity string }
	}
	if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || report.RuleSet != "first year" {
		t.Fatalf("%d: rule set %q, %v", w.Code, report.RuleSet, err)
	}
	for _, f := range report.Findings {
		if f.Rule == "parallel-octaves" || f.Rule == "parallel-fifths" && f.Severity != "remark" {
			t.Errorf("%s is found as %s", f.Rule, f.Severity)
		}
	}
	w = s.do(form(t, "/v1/checks", worksheet, field{"own_rule_set", "first.yaml", own + "  paralel-unisons: off\n"}))
	if p := s.problem(w); p.Type != unreadableRuleSet.uri() || p.Line != 5 || p.File != "first.yaml" || !strings.Contains(p.Detail, "parallel-unisons") {
		t.Errorf("got %+v", p)
	}
}

// Every way to mend that is offered is in the report, at most as many as asked for.
func TestFixesAreOffered(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	offered := func(query string) (most, total int) {
		w := s.do(post("/v1/checks"+query, string(demo(t, "hand-in.musicxml"))))
		var findings struct {
			Findings []struct{ Fixes []json.RawMessage }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &findings); err != nil {
			t.Fatal(err)
		}
		for _, f := range findings.Findings {
			most, total = max(most, len(f.Fixes)), total+len(f.Fixes)
		}
		return most, total
	}
	if _, total := offered(""); total != 0 {
		t.Errorf("%d ways to mend without asking", total)
	}
	if most, total := offered("?fixes=2"); total == 0 || most > 2 {
		t.Errorf("%d ways to mend, at most %d at one place; asked for 2", total, most)
	}
}
