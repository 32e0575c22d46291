package pool

import (
	"container/list"
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"partwright/worker"
	"partwright/worker/report"
	"partwright/worker/stage"
)

// Pool runs scores on a bounded number of slots; more wait in the order they
// came, in a bounded queue. It is safe for concurrent use.
//
// Go cannot stop a goroutine from outside. A score that overruns its deadline is
// answered at the deadline, and its slot stays taken until the work really ends:
// voicing and mending look at their context between small steps.
type Pool struct {
	engine  *worker.Engine
	config  Config
	metrics *Metrics
	logger  *slog.Logger

	mu       sync.Mutex
	waiting  list.List // of *ticket, the oldest in front
	running  int
	overrun  int // slots whose score outlived its deadline
	draining bool
	idle     chan struct{} // closed once draining and nothing runs or waits
	mean     time.Duration // moving average of the time a score runs
}

// New returns a pool over an engine. Metrics and logger may be nil.
func New(config Config, engine *worker.Engine, metrics *Metrics, logger *slog.Logger) (*Pool, error) {
	if err := config.validate(); err != nil {
		return nil, err
	}
	if logger == nil {
		logger = slog.New(slog.DiscardHandler)
	}
	p := &Pool{
		engine: engine, config: config.withDefaults(), metrics: metrics, logger: logger,
		idle: make(chan struct{}), mean: 50 * time.Millisecond,
	}
	metrics.watch(p)
	return p, nil
}

// Submit checks one score and waits for the result. Besides what [worker.Engine.Check]
// returns, errors are [ErrBusy], [ErrDraining], [stage.ErrDeadline], [stage.ErrPanicked] and
// that of ctx.
func (p *Pool) Submit(ctx context.Context, in worker.Input, o worker.Options) (*worker.Result, error) {
	var result *worker.Result
	err := p.run(ctx, TaskCheck, len(in.Data), func(ctx context.Context) (err error) {
		result, err = p.engine.Check(ctx, in, o)
		return err
	})
	if err != nil {
		return nil, err
	}
	p.metrics.count(result)
	return result, nil
}

// Clean takes the marks off one score and waits for it; errors as for
// [Pool.Submit].
func (p *Pool) Clean(ctx context.Context, in worker.Input) ([]byte, error) {
	return await(ctx, p, TaskClean, len(in.Data), func(ctx context.Context) ([]byte, error) {
		return p.engine.Clean(ctx, in)
	})
}

// Voice is [worker.Engine.Voice] on a slot of the pool; further errors as for
// [Pool.Submit].
func (p *Pool) Voice(ctx context.Context, r worker.VoiceRequest) (*worker.VoiceResult, error) {
	size := len(r.Progression)
	if r.Score != nil {
		size = len(r.Score.Data)
	}
	return await(ctx, p, TaskVoice, size, func(ctx context.Context) (*worker.VoiceResult, error) {
		return p.engine.Voice(ctx, r)
	})
}

// Mend is [worker.Engine.Mend] on a slot of the pool; further errors as for
// [Pool.Submit].
func (p *Pool) Mend(ctx context.Context, in worker.Input, r worker.MendRequest) (*worker.MendResult, error) {
	return await(ctx, p, TaskMend, len(in.Data), func(ctx context.Context) (*worker.MendResult, error) {
		return p.engine.Mend(ctx, in, r)
	})
}

// Continue is [worker.Engine.Continue] on a slot of the pool; further errors as for
// [Pool.Submit].
func (p *Pool) Continue(ctx context.Context, r worker.ContinueRequest) (*report.Continuation, error) {
	return await(ctx, p, TaskContinue, len(r.Chords), func(ctx context.Context) (*report.Continuation, error) {
		return p.engine.Continue(ctx, r)
	})
}

// await runs work on a slot and hands over what it returns.
func await[T any](ctx context.Context, p *Pool, task Task, size int, work func(context.Context) (T, error)) (T, error) {
	var result T
	err := p.run(ctx, task, size, func(ctx context.Context) (err error) {
		result, err = work(ctx)
		return err
	})
	if err != nil {
		// The work may still run past its deadline and write its own copy.
		var none T
		return none, err
	}
	return result, nil
}

// run takes a slot, does the work on it and reports the outcome.
func (p *Pool) run(ctx context.Context, task Task, size int, work func(context.Context) error) error {
	ctx, span := stage.StartSpan(ctx, "score")
	defer span.End()
	err := p.enter(ctx)
	if err == nil {
		span.AddEvent("begun")
		err = p.within(ctx, work)
	}
	describe(span, task, size, err)
	p.metrics.outcome(task, size, err)
	var panicked *stage.PanicError
	if errors.As(err, &panicked) {
		p.logger.ErrorContext(ctx, "a job panicked", "task", string(task), "stage", string(panicked.Stage),
			"rule", panicked.Rule, "panic", panicked.Loggable(), "stack", string(panicked.Stack))
	}
	return err
}

// within runs work on a slot already taken and returns when ctx is done at the
// latest; the slot is given back when the work really ends.
func (p *Pool) within(parent context.Context, work func(context.Context) error) error {
	ctx, cancel := context.WithTimeoutCause(parent, p.config.Deadline, stage.ErrDeadline)
	// Not where the work ends: the select below could see that end first.
	defer cancel()
	s := &slot{start: time.Now()}
	overrun := time.AfterFunc(p.config.Deadline, func() { p.overran(s) })
	done := make(chan error, 1)
	go func() {
		err := stage.Guard("", func() error { return work(ctx) })
		overrun.Stop()
		p.leave(s)
		done <- err
	}()
	select {
	case err := <-done:
		if err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()) {
			return context.Cause(ctx)
		}
		return err
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}
