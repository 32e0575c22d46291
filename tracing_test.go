package main

import (
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	collector "go.opentelemetry.io/proto/otlp/collector/trace/v1"
	"google.golang.org/protobuf/proto"
)

// The variables and their meaning: OpenTelemetry Specification, "Environment
// Variable Specification" and "OpenTelemetry Protocol Exporter".
func TestTracingIsOffUnlessAskedFor(t *testing.T) {
	const endpoint = "OTEL_EXPORTER_OTLP_ENDPOINT=http://127.0.0.1:4318"
	for _, tt := range []struct {
		environment, want, why string
	}{
		{"", "off", "nothing leaves the machine unless somebody says so"},
		{endpoint, "on", "a place is named"},
		{"OTEL_EXPORTER_OTLP_TRACES_ENDPOINT=http://127.0.0.1:4318/v1/traces", "on", "a place for traces is named"},
		{"OTEL_TRACES_EXPORTER=otlp", "on", "asked for, at the protocol's own address"},
		{"OTEL_TRACES_EXPORTER=none " + endpoint, "off", "the place is for other signals"},
		{"OTEL_SDK_DISABLED=true " + endpoint, "off", "everything is off"},
		{"OTEL_TRACES_EXPORTER=zipkin", "OTEL_TRACES_EXPORTER is zipkin", "not spoken here"},
		{"OTEL_EXPORTER_OTLP_PROTOCOL=grpc " + endpoint, "OTEL_EXPORTER_OTLP_PROTOCOL is grpc", "not spoken here"},
		{"OTEL_EXPORTER_OTLP_ENDPOINT=collector:4318", "OTEL_EXPORTER_OTLP_ENDPOINT is no address", "would go to the default instead"},
		{"OTEL_EXPORTER_OTLP_TRACES_PROTOCOL=http/protobuf OTEL_EXPORTER_OTLP_PROTOCOL=grpc " + endpoint, "on", "the nearer variable goes first"},
	} {
		on, err := tracingWanted(func(name string) string {
			for _, pair := range strings.Fields(tt.environment) {
				if key, value, _ := strings.Cut(pair, "="); key == name {
					return value
				}
			}
			return ""
		})
		got := "off"
		switch {
		case err != nil:
			got = err.Error()
		case on:
			got = "on"
		}
		if !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s: %s, want %s: %s", tt.environment, got, tt.want, tt.why)
		}
	}
}

func TestTracesArriveWhereTheVariablesSay(t *testing.T) {
	arrived := make(chan *collector.ExportTraceServiceRequest, 1)
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		sent := &collector.ExportTraceServiceRequest{}
		if err == nil {
			err = proto.Unmarshal(body, sent)
		}
		if err != nil || r.URL.Path != "/v1/traces" {
			t.Errorf("%s: %v", r.URL.Path, err)
		}
		arrived <- sent
	}))
	defer server.Close()
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", server.URL)
	t.Setenv("OTEL_RESOURCE_ATTRIBUTES", "deployment.environment.name=test")
	tracing, err := newTracing(t.Context(), func(name string) string {
		return map[string]string{"OTEL_EXPORTER_OTLP_ENDPOINT": server.URL}[name]
	}, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	_, span := tracing.provider.Tracer("test").Start(t.Context(), "work")
	span.End()
	tracing.flush(t.Context())

	sent := (<-arrived).GetResourceSpans()[0]
	if got := sent.GetScopeSpans()[0].GetSpans()[0].GetName(); got != "work" {
		t.Errorf("a span called %q arrived", got)
	}
	about := map[string]string{}
	for _, a := range sent.GetResource().GetAttributes() {
		about[a.GetKey()] = a.GetValue().GetStringValue()
	}
	if about["service.name"] != "partwright" || about["deployment.environment.name"] != "test" {
		t.Errorf("the process is described as %v", about)
	}
	for _, key := range []string{"host.name", "process.owner", "process.command_args"} {
		if value, told := about[key]; told {
			t.Errorf("%s is told: %s", key, value)
		}
	}
}

// While the collector is away there is an error every few seconds, and at most a line a
// minute that says how many there were.
func TestErrorsOfTracingDoNotFloodTheLog(t *testing.T) {
	var log strings.Builder
	now := time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)
	f := &failures{logger: slog.New(slog.NewTextHandler(&log, nil)), now: func() time.Time { return now }}
	for range 25 { // two minutes
		f.Handle(errors.New("connection refused"))
		now = now.Add(5 * time.Second)
	}
	f.Handle(errors.New("the last"))
	f.end()
	f.end()
	var times []string
	for line := range strings.Lines(log.String()) {
		_, after, _ := strings.Cut(line, "times=")
		count, _, _ := strings.Cut(after, " ")
		times = append(times, count)
	}
	if got := strings.Join(times, " "); got != "1 12 12 1" || !strings.Contains(log.String(), "the last") {
		t.Errorf("the lines tell of %s errors:\n%s", got, log.String())
	}
}
