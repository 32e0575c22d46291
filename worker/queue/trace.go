package queue

import (
	"context"

	"github.com/riverqueue/river/rivertype"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/trace"
	"go.opentelemetry.io/otel/trace/noop"
)

// startSpan begins the span of a job, which is the root of a trace: the request
// that added the job was answered long ago.
func (q *Queue) startSpan(ctx context.Context, row *rivertype.JobRow) (context.Context, trace.Span) {
	provider := q.config.Tracing
	if provider == nil {
		provider = noop.NewTracerProvider()
	}
	return provider.Tracer("partwright/worker/queue").Start(ctx, "job "+row.Kind,
		trace.WithSpanKind(trace.SpanKindConsumer), trace.WithNewRoot(), trace.WithAttributes(
			attribute.String("partwright.job.priority", Priority(row.Priority).String()),
			attribute.Int64("partwright.job.id", row.ID),
			attribute.Int("partwright.job.attempt", row.Attempt)))
}
