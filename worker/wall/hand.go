package wall

import (
	"context"
	"errors"
	"sync"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// hand gives jobs to a child, and to another in its stead once that has ended. It is safe
// for concurrent use.
type hand struct {
	wall *Wall

	mu    sync.Mutex
	child *process // nil before the first job and after the end
}

// mostTries is how often a job is begun again: a score that ends its child each time is
// told from one whose child somebody killed.
const mostTries = 2

// Do is [Wall.Do].
func (h *hand) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	for try := 0; ; {
		p, err := h.take(in.Read, stage.IsPatient(ctx))
		if err != nil && try < mostTries && ctx.Err() == nil && !errors.Is(err, errClosed) {
			try++
			continue // it was killed as it began
		}
		if errors.Is(err, errEnded) {
			h.wall.config.Logger.ErrorContext(ctx, "child processes end as they begin", "task", string(plan.Job()), "error", err)
			return nil, stage.ErrLost
		}
		if err != nil {
			return nil, err
		}
		stop := stage.OnPatient(ctx, func() { h.wall.giveWay(p) })
		a, err := p.do(ctx, &in, plan, &h.wall.config)
		stop()
		if errors.Is(err, errNotBegun) {
			continue // it ended at the job before
		}
		if !errors.Is(err, errEnded) {
			return a, err
		}
		h.wall.config.Logger.WarnContext(ctx, "a child process ended while it worked", "task", string(plan.Job()), "why", p.why())
		if try == mostTries || ctx.Err() != nil {
			return nil, stage.ErrLost
		}
		try++
	}
}

// take is the child that gets the next job. Others wait while one begins.
func (h *hand) take(last *worker.Reading, patient bool) (*process, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.child != nil && h.child.alive() {
		return h.child, nil
	}
	h.giveBack()
	p, err := h.wall.take(last, patient)
	if err == nil {
		h.child = p
	}
	return p, err
}

// end gives the child back. No job comes after it.
func (h *hand) end() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.giveBack()
}

func (h *hand) giveBack() {
	if h.child != nil {
		h.wall.put(h.child)
		h.child = nil
	}
}
