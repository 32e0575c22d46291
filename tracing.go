package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"sync"
	"time"

	"go.opentelemetry.io/otel"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	"go.opentelemetry.io/otel/sdk/resource"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"
)

// tracing sends the spans of this process; provider is nil where nobody asked for
// them.
type tracing struct {
	provider trace.TracerProvider
	sdk      *sdk.TracerProvider
	failures *failures
}

// newTracing reads OpenTelemetry's own variables, those that it leaves to the
// libraries (endpoint, headers, TLS, sampler, queue, resource) as well as those
// that say whether there is anything to send.
func newTracing(ctx context.Context, getenv func(string) string, logger *slog.Logger) (*tracing, error) {
	wanted, err := tracingWanted(getenv)
	if err != nil || !wanted {
		return &tracing{}, err
	}
	exporter, err := otlptracehttp.New(ctx)
	if err != nil {
		return nil, fmt.Errorf("sending traces: %w", err)
	}
	// Chosen one by one: the library's own list tells of the host and its user.
	about, err := resource.New(ctx, resource.WithTelemetrySDK(), resource.WithAttributes(
		semconv.ServiceName("partwright"), semconv.ServiceVersion(version())), resource.WithFromEnv())
	if err != nil {
		return nil, fmt.Errorf("OTEL_RESOURCE_ATTRIBUTES: %w", err)
	}
	failures := &failures{logger: logger, now: time.Now}
	otel.SetErrorHandler(failures)
	provider := sdk.NewTracerProvider(sdk.WithBatcher(exporter), sdk.WithResource(about))
	logger.InfoContext(ctx, "sending traces")
	return &tracing{provider, provider, failures}, nil
}

// tracingWanted is what the variables say of sending traces. None is sent unless
// an exporter or a place to send them to is named.
func tracingWanted(getenv func(string) string) (bool, error) {
	first := func(names ...string) (name, value string) {
		for _, name := range names {
			if value = getenv(name); value != "" {
				return name, value
			}
		}
		return "", ""
	}
	if getenv("OTEL_SDK_DISABLED") == "true" {
		return false, nil
	}
	place, endpoint := first("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT", "OTEL_EXPORTER_OTLP_ENDPOINT")
	switch exporter := getenv("OTEL_TRACES_EXPORTER"); {
	case exporter == "none", exporter == "" && endpoint == "":
		return false, nil
	case exporter != "" && exporter != "otlp":
		return false, fmt.Errorf("OTEL_TRACES_EXPORTER is %s: say otlp or none", exporter)
	}
	name, protocol := first("OTEL_EXPORTER_OTLP_TRACES_PROTOCOL", "OTEL_EXPORTER_OTLP_PROTOCOL")
	if protocol != "" && protocol != "http/protobuf" {
		return false, fmt.Errorf("%s is %s: only http/protobuf is spoken here", name, protocol)
	}
	// The library passes over what it cannot read, and sends to its default.
	if at, err := url.Parse(endpoint); endpoint != "" && (err != nil || at.Scheme != "http" && at.Scheme != "https" || at.Host == "") {
		return false, fmt.Errorf("%s is no address: say http:// or https://, host and port", place)
	}
	return true, nil
}

// flush sends what is left, and stops.
func (t *tracing) flush(ctx context.Context) {
	if t.sdk == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	if err := t.sdk.Shutdown(ctx); err != nil && !errors.Is(err, context.Canceled) {
		otel.Handle(err)
	}
	t.failures.end()
}

// failureLines is the shortest time between two lines about traces that could not be
// sent: there is one every few seconds while the collector is away.
const failureLines = time.Minute

// failures logs what keeps traces from being sent, the first at once and then at most a
// line a minute, which says how many there were. It is safe for concurrent use.
type failures struct {
	logger *slog.Logger
	now    func() time.Time

	mu   sync.Mutex
	said time.Time
	held int   // since then
	last error // of those
}

// Handle implements [otel.ErrorHandler].
func (f *failures) Handle(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.held, f.last = f.held+1, err
	if f.now().Sub(f.said) >= failureLines {
		f.say()
	}
}

// end logs those that no line has told of yet.
func (f *failures) end() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.held > 0 {
		f.say()
	}
}

func (f *failures) say() {
	f.logger.Warn("tracing failed", "times", f.held, "error", f.last.Error())
	f.said, f.held, f.last = f.now(), 0, nil
}
