package stage

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.opentelemetry.io/otel/trace"
)

// StartSpan begins a part of the span in ctx, with the provider of that one.
// Where nobody traces there is none, and it costs next to nothing.
func StartSpan(ctx context.Context, name string) (context.Context, trace.Span) {
	return trace.SpanFromContext(ctx).TracerProvider().Tracer("partwright/worker").Start(ctx, name)
}

// ObserveTraced adds a duration to a histogram. Where the span in ctx is
// recorded, the id of its trace goes with it as an exemplar, which OpenMetrics
// shows and which leads from a slow bucket to a trace.
func ObserveTraced(ctx context.Context, histogram prometheus.Observer, took time.Duration) {
	span := trace.SpanContextFromContext(ctx)
	if exemplar, ok := histogram.(prometheus.ExemplarObserver); ok && span.IsSampled() {
		exemplar.ObserveWithExemplar(took.Seconds(), prometheus.Labels{"trace_id": span.TraceID().String()})
		return
	}
	histogram.Observe(took.Seconds())
}
