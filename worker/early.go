package worker

import (
	"context"
	"time"
)

// early is a context that ends when three quarters of the time of another one are
// over: what can be left out stops then, and there is time to answer with the rest.
func early(ctx context.Context) (context.Context, context.CancelFunc) {
	deadline, ok := ctx.Deadline()
	if !ok {
		return ctx, func() {}
	}
	return context.WithDeadline(ctx, deadline.Add(-time.Until(deadline)/4))
}

// stopWith is asked between small steps of work that can be left out.
func stopWith(ctx context.Context) func() bool {
	return func() bool { return ctx.Err() != nil }
}
