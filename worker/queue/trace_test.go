package queue_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Every try of a job is a trace of its own; its arguments stay out of it.
func TestTriesOfAJobAreTraced(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		d.work = func(ctx context.Context, job *queue.Job[note]) error {
			if job.Faults() == 0 {
				return errors.New("secret fault")
			}
			return d.complete(ctx, job)
		}
		d.add("a", queue.Normal, "secret")
		d.start()
		d.wait(1)
		var spans tracetest.SpanStubs
		for len(spans) < 2 { // the last ends after its job is done
			time.Sleep(time.Millisecond)
			spans = d.spans.GetSpans()
		}
		if spans[0].Status.Code != codes.Error || spans[1].Status.Code != codes.Unset {
			t.Errorf("statuses %v and %v, want an error and then none", spans[0].Status, spans[1].Status)
		}
		if spans[0].SpanContext.TraceID() == spans[1].SpanContext.TraceID() {
			t.Error("two tries are in one trace")
		}
		for _, span := range spans {
			if span.Name != "job note" || span.Parent.IsValid() {
				t.Errorf("%q, hanging on %v", span.Name, span.Parent.SpanID())
			}
			for _, a := range span.Attributes {
				if strings.Contains(a.Value.String(), "secret") ||
					!slices.Contains([]string{"partwright.job.priority", "partwright.job.id", "partwright.job.attempt"}, string(a.Key)) {
					t.Errorf("a span tells %s %s", a.Key, a.Value.String())
				}
			}
			if strings.Contains(span.Status.Description, "secret") {
				t.Error("a span tells the text of an error")
			}
		}
	})
}
