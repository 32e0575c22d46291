package api

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"go.opentelemetry.io/otel/codes"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"
	"go.opentelemetry.io/otel/trace"

	"partwright/worker/pool"
	"partwright/worker/stage"
)

// The example of W3C Trace Context (Recommendation 2021-11-23, section 3.2.3).
const (
	traceparent = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"
	tracedAs    = "4bf92f3577b34da6a3ce929d0e0e4736"
	callerSpan  = "00f067aa0ba902b7"
)

func traced(t *testing.T) (*service, *tracetest.InMemoryExporter) {
	spans := tracetest.NewInMemoryExporter()
	s := newService(t, &fakePool{}, Config{Tracing: sdk.NewTracerProvider(sdk.WithSyncer(spans))})
	s.server.handlers.pool = enginePool(t, s.registry, pool.Config{})
	return s, spans
}

func named(t *testing.T, spans tracetest.SpanStubs, name string) tracetest.SpanStub {
	t.Helper()
	i := slices.IndexFunc(spans, func(s tracetest.SpanStub) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no span is called %q", name)
	}
	return spans[i]
}

func TestTraceOfACheck(t *testing.T) {
	s, exporter := traced(t)
	if w := s.do(post("/v1/checks", string(demo(t, "hand-in.musicxml")), "Traceparent", traceparent)); w.Code != http.StatusOK {
		t.Fatal(w.Code)
	}
	spans := exporter.GetSpans()
	request, score := named(t, spans, "POST /v1/checks"), named(t, spans, "score")
	if got := request.Parent.SpanID().String(); got != callerSpan {
		t.Errorf("the request hangs on %s, want the caller's span", got)
	}
	if request.SpanKind != trace.SpanKindServer || request.Status.Code != codes.Unset {
		t.Errorf("kind %s, status %v", request.SpanKind, request.Status)
	}
	if score.Parent.SpanID() != request.SpanContext.SpanID() {
		t.Error("the score does not hang on its request")
	}
	for _, stage := range stage.All {
		if span := named(t, spans, string(stage)); span.Parent.SpanID() != score.SpanContext.SpanID() {
			t.Errorf("the stage %s does not hang on its score", stage)
		}
	}
	for _, span := range spans {
		if got := span.SpanContext.TraceID().String(); got != tracedAs {
			t.Errorf("%s is in trace %s, want the caller's", span.Name, got)
		}
	}
	if !strings.Contains(s.log.String(), `"trace_id":"`+tracedAs+`"`) {
		t.Error("the log line does not lead to the trace")
	}
	metrics := newRecorder(s.server.OperatorHandler(), get("/metrics", "Accept", "application/openmetrics-text; version=1.0.0")).Body.String()
	if !strings.Contains(metrics, `# {trace_id="`+tracedAs+`"}`) {
		t.Error("the duration of the request has no exemplar that leads to the trace")
	}
	for _, stage := range stage.All {
		if !leadsToTrace(metrics, `partwright_stage_duration_seconds_bucket{stage="`+string(stage)+`"`) {
			t.Errorf("the duration of the stage %s has no exemplar that leads to the trace", stage)
		}
	}
}

// leadsToTrace reports whether a bucket of a series has the trace as its exemplar.
func leadsToTrace(metrics, series string) bool {
	for line := range strings.Lines(metrics) {
		if strings.HasPrefix(line, series) && strings.Contains(line, `# {trace_id="`+tracedAs+`"}`) {
			return true
		}
	}
	return false
}

func TestTraceSaysWhatFailed(t *testing.T) {
	s, exporter := traced(t)
	s.server.handlers.pool = &fakePool{busy: errors.New("broken")}
	s.do(post("/v1/checks", "<score-partwise/>"))
	if got := named(t, exporter.GetSpans(), "POST /v1/checks").Status.Code; got != codes.Error {
		t.Errorf("an answer 500 is %v in the trace", got)
	}
}

// A span may say only what is in this list: nothing that comes from a client or
// from a score.
func TestTracesTellNothingOfPersons(t *testing.T) {
	allowed := []string{
		"http.request.method", "http.route", "http.response.status_code", "error.type",
		"partwright.task", "partwright.outcome", "partwright.score.bytes",
	}
	s, exporter := traced(t)
	r := form(t, "/v1/checks?language=en", field{name: "score", file: "secret-name.musicxml", value: string(demo(t, "hand-in.musicxml"))})
	r.Header.Set("User-Agent", "secret-agent")
	r.RemoteAddr = "203.0.113.77:4711"
	s.do(r)
	s.do(post("/v1/checks", "<secret-element/>"))
	s.do(get("/secret/path?secret=query"))
	s.do(get("/v1/rules/parallel-fifths"))
	spans := exporter.GetSpans()
	if len(spans) < 5 {
		t.Fatalf("only %d spans", len(spans))
	}
	for _, span := range spans {
		text := fmt.Sprintf("%+v", span)
		for _, secret := range []string{"secret", "203.0.113", "Harmonize", "language=en", "parallel-fifths"} {
			if strings.Contains(text, secret) {
				t.Errorf("the span %s tells %q", span.Name, secret)
			}
		}
		for _, a := range span.Attributes {
			if !slices.Contains(allowed, string(a.Key)) {
				t.Errorf("the span %s has an attribute %s that nobody looked at", span.Name, a.Key)
			}
		}
	}
}

func TestProbesAreNotTraced(t *testing.T) {
	s, exporter := traced(t)
	s.do(get("/healthz"))
	s.do(get("/livez"))
	s.do(get("/readyz"))
	if spans := exporter.GetSpans(); len(spans) > 0 {
		t.Errorf("%d spans of probes", len(spans))
	}
}
