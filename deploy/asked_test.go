package deploy_test

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// Metrics and labels in an expression of PromQL.
var (
	metricName = regexp.MustCompile(`\b(?:partwright|process|go)_[a-z0-9_]+|\bpartwright:[a-z0-9_:]+`)
	selector   = regexp.MustCompile(`\b(\w+)\{([^}]*)\}`)
	matcher    = regexp.MustCompile(`(\w+)\s*(=~|!=|!~|=)\s*"([^"]*)"`)
	grouping   = regexp.MustCompile(`\bby \(([^)]*)\)`)
)

// added are labels that Prometheus puts on what it scrapes.
var added = []string{"job", "instance"}

// open are labels whose values one check and one batch cannot all bring about.
var open = []string{"route", "status", "method", "rule"}

// asks fails the test if an expression asks for what is not exposed.
func (e exposed) asks(t *testing.T, where, expr string, recorded ...string) {
	t.Helper()
	names := metricName.FindAllString(expr, -1)
	if len(names) == 0 && !strings.Contains(expr, "up{") {
		t.Errorf("%s asks for nothing of the service: %s", where, expr)
	}
	known := slices.Clone(added)
	for _, name := range names {
		labels, exists := e[name]
		if !exists && !slices.Contains(recorded, name) {
			t.Errorf("%s asks for %s, which the service does not expose", where, name)
		}
		for label := range labels {
			known = append(known, label)
		}
	}
	for _, found := range selector.FindAllStringSubmatch(expr, -1) {
		for _, m := range matcher.FindAllStringSubmatch(found[2], -1) {
			e.selects(t, where, found[1], m[1], m[2], m[3])
		}
	}
	for _, found := range grouping.FindAllStringSubmatch(expr, -1) {
		for label := range strings.SplitSeq(found[1], ",") {
			if label = strings.TrimSpace(label); !slices.Contains(known, label) {
				t.Errorf("%s groups by %s, which none of its metrics has", where, label)
			}
		}
	}
}

func (e exposed) selects(t *testing.T, where, metric, label, operator, value string) {
	t.Helper()
	if metric == "up" || slices.Contains(added, label) {
		return
	}
	values, exists := e[metric][label]
	switch {
	case !exists:
		t.Errorf("%s selects %s by %s, which it does not have", where, metric, label)
	case operator == "=" && !slices.Contains(open, label) && !slices.Contains(values, value):
		t.Errorf("%s selects %s where %s is %q; it is one of %v", where, metric, label, value, values)
	}
}

type panel struct {
	Type, Title, Description string
	FieldConfig              struct{ Defaults struct{ Unit string } }
	Targets                  []struct{ Expr, LegendFormat string }
}

type rule struct {
	Record, Alert, Expr string
	Labels, Annotations map[string]string
}

func rules(t *testing.T) []rule {
	t.Helper()
	var file struct{ Groups []struct{ Rules []rule } }
	if err := yaml.Unmarshal(read(t, "prometheus/alerts.yml"), &file); err != nil {
		t.Fatal(err)
	}
	var all []rule
	for _, g := range file.Groups {
		all = append(all, g.Rules...)
	}
	return all
}

// A panel or an alert on a metric that nobody exposes is silent for ever, which
// looks like good news.
func TestWhatIsAskedForIsExposed(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and works with it")
	}
	metrics := metricsOf(t)
	var dashboard struct{ Panels []panel }
	if err := json.Unmarshal(read(t, "grafana/dashboard.json"), &dashboard); err != nil {
		t.Fatal(err)
	}
	asked := 0
	for _, p := range dashboard.Panels {
		for _, target := range p.Targets {
			metrics.asks(t, "the panel "+p.Title, target.Expr)
			asked++
		}
	}
	var recorded []string
	for _, r := range rules(t) {
		if r.Record != "" {
			recorded = append(recorded, r.Record)
		}
		metrics.asks(t, "the rule "+r.Alert+r.Record, r.Expr, recorded...)
		asked++
	}
	for _, row := range strings.Split(string(read(t, "prometheus/README.md")), "\n") {
		if cells := strings.Split(row, "`"); strings.HasPrefix(row, "| ") && len(cells) > 2 {
			metrics.asks(t, "the table", cells[1])
			asked++
		}
	}
	if asked < 50 {
		t.Errorf("only %d expressions were found", asked)
	}
}

// The other way round: what is worth measuring is worth seeing.
func TestOwnMetricsAreOnTheDashboard(t *testing.T) {
	text := string(read(t, "grafana/dashboard.json"))
	for name := range metricsOf(t) {
		base := strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(name, "_bucket"), "_sum"), "_count")
		if strings.HasPrefix(name, "partwright_") && !strings.Contains(text, base) && base != "partwright_findings" {
			t.Errorf("%s is on no panel", base)
		}
	}
}

func TestPanelsCanBeRead(t *testing.T) {
	var dashboard struct{ Panels []panel }
	if err := json.Unmarshal(read(t, "grafana/dashboard.json"), &dashboard); err != nil {
		t.Fatal(err)
	}
	for _, p := range dashboard.Panels {
		if p.Type == "row" {
			continue
		}
		if p.Title == "" || p.Description == "" || p.FieldConfig.Defaults.Unit == "" {
			t.Errorf("the panel %q lacks a title, a description or a unit", p.Title)
		}
		if len(p.Targets) == 0 {
			t.Errorf("the panel %q shows nothing", p.Title)
		}
		for _, target := range p.Targets {
			if target.LegendFormat == "" {
				t.Errorf("the panel %q has a line without a legend", p.Title)
			}
		}
	}
}

// Whoever is woken must find what to do, and how grave it is.
func TestAlertsLeadToTheRunbook(t *testing.T) {
	runbook := map[string]bool{}
	for line := range strings.SplitSeq(string(read(t, "RUNBOOK.md")), "\n") {
		if heading, found := strings.CutPrefix(line, "## "); found {
			runbook["RUNBOOK.md#"+strings.ReplaceAll(strings.ToLower(heading), " ", "-")] = true
		}
	}
	tests := string(read(t, "prometheus/alerts_test.yml"))
	for _, r := range rules(t) {
		if r.Alert == "" {
			continue
		}
		if !runbook[r.Annotations["runbook"]] {
			t.Errorf("%s leads to %q, which is no chapter", r.Alert, r.Annotations["runbook"])
		}
		if s := r.Labels["severity"]; s != "page" && s != "ticket" {
			t.Errorf("%s has the severity %q", r.Alert, s)
		}
		if !strings.Contains(tests, "alertname: "+r.Alert+"\n") {
			t.Errorf("no test sees %s fire", r.Alert)
		}
		if !strings.Contains(tests, "alertname: "+r.Alert+",") {
			t.Errorf("no test sees %s stay silent", r.Alert)
		}
	}
}

func TestPrometheusAcceptsItsFiles(t *testing.T) {
	accepts(t, "promtool", "check", "config", "prometheus/prometheus.yml")
	accepts(t, "promtool", "check", "config", "prometheus/compose.yml")
	accepts(t, "promtool", "test", "rules", "prometheus/alerts_test.yml")
}
