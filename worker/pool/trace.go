package pool

import (
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/trace"

	"partwright/worker/request"
)

// describe says of the span of a score what metrics say as well. The text of an
// error stays out: it may quote the score.
func describe(span trace.Span, job request.Job, size int, err error) {
	outcome := outcomeOf(err)
	span.SetAttributes(
		attribute.String("partwright.task", string(job)),
		attribute.String("partwright.outcome", string(outcome)),
		attribute.Int("partwright.score.bytes", size),
	)
	switch outcome {
	case timedOut, panicked, failed:
		span.SetStatus(codes.Error, string(outcome))
	}
}
