package pool

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"go.opentelemetry.io/otel/trace"

	"partwright/musicxml"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
)

func TestEndings(t *testing.T) {
	for _, tt := range []struct {
		err  error
		want outcome
		why  string
	}{
		{nil, done, "findings or none"},
		{fmt.Errorf("x: %w", &musicxml.InputError{Code: "empty"}), refused, "not a score"},
		{&worker.RequestError{}, refused, "asked for what cannot be"},
		{&voicing.ProgressionError{}, refused, "not a progression"},
		{fmt.Errorf("x: %w", &voicing.ImpossibleError{}), refused, "no voicing at all"},
		{&BusyError{}, turnedAway, "no place"},
		{ErrDraining, turnedAway, "shutting down"},
		{stage.ErrDeadline, timedOut, "our own limit"},
		{context.DeadlineExceeded, timedOut, "the caller's"},
		{context.Canceled, canceled, "nobody waits"},
		{&stage.PanicError{}, panicked, "our code"},
		{errors.New("?"), failed, "anything else is ours"},
	} {
		if got := outcomeOf(tt.err); got != tt.want {
			t.Errorf("%v: %s, want %s: %s", tt.err, got, tt.want, tt.why)
		}
	}
}

// What OpenMetrics shows of classic buckets and protobuf of native histograms.
func TestExemplarsLeadToTraces(t *testing.T) {
	id, span := trace.TraceID{1}, trace.SpanID{2}
	for _, tt := range []struct {
		flags trace.TraceFlags
		want  int
		why   string
	}{
		{trace.FlagsSampled, 1, "a trace that is kept"},
		{0, 0, "a trace that nobody will find"},
	} {
		registry := prometheus.NewRegistry()
		ctx := trace.ContextWithSpanContext(t.Context(), trace.NewSpanContext(trace.SpanContextConfig{TraceID: id, SpanID: span, TraceFlags: tt.flags}))
		NewMetrics(registry).ObserveStage(ctx, stage.Read, time.Second)
		families, err := registry.Gather()
		if err != nil {
			t.Fatal(err)
		}
		classic, native := 0, 0
		for _, f := range families {
			for _, m := range f.GetMetric() {
				for _, b := range m.GetHistogram().GetBucket() {
					if l := b.GetExemplar().GetLabel(); len(l) == 1 && l[0].GetValue() == id.String() {
						classic++
					}
				}
				native += len(m.GetHistogram().GetExemplars())
			}
		}
		if classic != tt.want || native != tt.want {
			t.Errorf("%d exemplars of buckets, %d of native histograms, want %d: %s", classic, native, tt.want, tt.why)
		}
	}
}

// Every way to end once, with the clock of the test's bubble.
func TestMetricsOfAPool(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		registry := prometheus.NewRegistry()
		p, err := New(Config{Size: 1, Queue: 1, Deadline: 10 * time.Second}, &worker.Engine{}, NewMetrics(registry), nil)
		if err != nil {
			t.Fatal(err)
		}
		release := make(chan struct{})
		late := submit(t.Context(), p, held(release)) // overruns
		synctest.Wait()
		waiting := submit(t.Context(), p, nothing)
		synctest.Wait()
		if err := p.run(t.Context(), request.JobCheck, 1, nothing); !errors.Is(err, ErrBusy) {
			t.Error(err)
		}
		if err := p.Admit(request.JobCheck); !errors.Is(err, ErrBusy) {
			t.Error(err)
		}
		time.Sleep(12 * time.Second)
		synctest.Wait()
		scrape(t, registry, "while one overruns and one waits", `
			partwright_pool_overrunning 1
			partwright_pool_running 1
			partwright_pool_size 1
			partwright_queue_capacity 1
			partwright_queue_depth 1
			partwright_queue_oldest_age_seconds 12
		`)
		close(release)
		<-late
		<-waiting
		for _, work := range []func(context.Context) error{
			func(context.Context) error { return &musicxml.InputError{} },
			func(context.Context) error { panic("x") },
			func(context.Context) error { return errors.New("x") },
			func(context.Context) error { return context.Canceled },
		} {
			_ = p.run(t.Context(), request.JobClean, 7, work)
		}
		synctest.Wait()
		scrape(t, registry, "afterwards", `
			partwright_pool_overrunning 0
			partwright_pool_running 0
			partwright_queue_depth 0
			partwright_queue_oldest_age_seconds 0
			partwright_score_bytes_total{task="check"} 3
			partwright_score_bytes_total{task="clean"} 28
			partwright_scores_total{outcome="canceled",task="check"} 0
			partwright_scores_total{outcome="canceled",task="clean"} 1
			partwright_scores_total{outcome="done",task="check"} 1
			partwright_scores_total{outcome="done",task="clean"} 0
			partwright_scores_total{outcome="failed",task="check"} 0
			partwright_scores_total{outcome="failed",task="clean"} 1
			partwright_scores_total{outcome="panicked",task="check"} 0
			partwright_scores_total{outcome="panicked",task="clean"} 1
			partwright_scores_total{outcome="refused",task="check"} 0
			partwright_scores_total{outcome="refused",task="clean"} 1
			partwright_scores_total{outcome="timed_out",task="check"} 1
			partwright_scores_total{outcome="timed_out",task="clean"} 0
			partwright_scores_total{outcome="turned_away",task="check"} 2
			partwright_scores_total{outcome="turned_away",task="clean"} 0
		`+atZero(request.JobVoice, request.JobMend, request.JobContinue, request.JobRevise))
	})
}

// atZero are the series of jobs that nobody asked for: there from the start, so
// that a rate over them is no gap.
func atZero(jobs ...request.Job) string {
	var b strings.Builder
	for _, job := range jobs {
		fmt.Fprintf(&b, "partwright_score_bytes_total{task=%q} 0\n", job)
		for _, outcome := range outcomes {
			fmt.Fprintf(&b, "partwright_scores_total{outcome=%q,task=%q} 0\n", outcome, job)
		}
	}
	return b.String()
}

// scrape compares series, without their help and type lines.
func scrape(t *testing.T, registry *prometheus.Registry, when, want string) {
	t.Helper()
	var names []string
	for line := range strings.Lines(want) {
		name, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		name, _, _ = strings.Cut(name, "{")
		if name != "" {
			names = append(names, name)
		}
	}
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var expected strings.Builder
	for _, family := range families {
		for _, name := range names {
			if family.GetName() == name {
				fmt.Fprintf(&expected, "# HELP %s %s\n# TYPE %s %s\n", name, family.GetHelp(), name, strings.ToLower(family.GetType().String()))
				break
			}
		}
	}
	for line := range strings.Lines(want) {
		expected.WriteString(strings.TrimSpace(line) + "\n")
	}
	if err := testutil.GatherAndCompare(registry, strings.NewReader(expected.String()), names...); err != nil {
		t.Errorf("%s: %v", when, err)
	}
}

func TestFindingsAreCountedByRuleAndSeverity(t *testing.T) {
	registry := prometheus.NewRegistry()
	m := NewMetrics(registry)
	m.count(&answer.Answer{Report: &report.Report{Findings: []report.Finding{
		{Rule: "parallel-fifths", Severity: "fault"},
		{Rule: "parallel-fifths", Severity: "fault"},
		{Rule: "spacing", Severity: "remark"},
	}}})
	m.count(&answer.Answer{Report: &report.Mending{}}) // has none
	m.count(&answer.Answer{})
	scrape(t, registry, "after three findings", `
		partwright_findings_total{rule="parallel-fifths",severity="fault"} 2
		partwright_findings_total{rule="spacing",severity="remark"} 1
	`)
}

// Text that is part of a request is work as much as a score is.
func TestBytesOfTextAreCounted(t *testing.T) {
	registry := prometheus.NewRegistry()
	p, err := New(Config{Size: 1}, &worker.Engine{}, NewMetrics(registry), nil)
	if err != nil {
		t.Fatal(err)
	}
	var v request.Voice
	if err := request.Bind(&v, request.Values{"progression": {Text: "C: I V I"}}); err != nil {
		t.Fatal(err)
	}
	plan, err := v.Plan()
	if err == nil {
		_, err = p.Do(t.Context(), worker.Input{}, plan)
	}
	if err != nil {
		t.Fatal(err)
	}
	scrape(t, registry, "after a text of 8 bytes", `
		partwright_score_bytes_total{task="check"} 0
		partwright_score_bytes_total{task="clean"} 0
		partwright_score_bytes_total{task="continue"} 0
		partwright_score_bytes_total{task="mend"} 0
		partwright_score_bytes_total{task="revise"} 0
		partwright_score_bytes_total{task="voice"} 8
	`)
}

func TestNoMetricsIsFine(t *testing.T) {
	var m *Metrics
	m.ObserveStage(t.Context(), stage.Read, time.Second)
	m.count(&answer.Answer{Report: &report.Report{Findings: make([]report.Finding, 1)}})
	m.waited(time.Second)
	m.outcome(request.JobCheck, 1, nil)
}
