package pool

import (
	"container/list"
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// Pool runs scores on a bounded number of slots; more wait in the order they
// came, in a bounded queue. Heavy ones have a share of the slots and a queue of their
// own; one that runs for so long turns heavy, whatever was estimated. Short ones have a
// few slots beside, half as many at least as there are others. It is safe for concurrent
// use.
//
// Go cannot stop a goroutine from outside. A score that overruns its deadline is
// answered at the deadline, and its slot stays taken until the work really ends: within
// milliseconds, since all work draws on a budget, see [theory.Work].
type Pool struct {
	engine  Engine
	config  Config
	metrics *Metrics
	logger  *slog.Logger

	mu       sync.Mutex
	plain    line
	heavy    line
	running  int // of both
	shorts   int // of those, the short ones
	overrun  int // slots whose score outlived its deadline
	draining bool
	idle     chan struct{} // closed once draining and nothing runs or waits
}

// line is what scores of a kind wait in.
type line struct {
	waiting list.List // of *ticket, the oldest in front
	running int
	mean    time.Duration // moving average of the time a score runs
}

// Engine does jobs: a [*worker.Engine], or what stands before one.
type Engine interface {
	Do(context.Context, worker.Input, request.Plan) (*answer.Answer, error)
}

// New returns a pool over an engine. Metrics and logger may be nil.
func New(config Config, engine Engine, metrics *Metrics, logger *slog.Logger) (*Pool, error) {
	if err := config.validate(); err != nil {
		return nil, err
	}
	if logger == nil {
		logger = slog.New(slog.DiscardHandler)
	}
	p := &Pool{
		engine: engine, config: config.withDefaults(), metrics: metrics, logger: logger,
		idle: make(chan struct{}),
	}
	p.plain.mean, p.heavy.mean = 50*time.Millisecond, p.config.Heavy
	metrics.watch(p)
	return p, nil
}

// Do does the job of a plan on one score and waits for the answer. Besides what
// [worker.Engine.Do] returns, errors are [ErrBusy], [ErrDraining],
// [stage.ErrDeadline], [stage.ErrPanicked] and that of ctx.
func (p *Pool) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	var a *answer.Answer
	class := p.config.class(estimate(&in, plan))
	err := p.runAs(ctx, class, plan.Job(), in.Size()+plan.Size(), func(ctx context.Context) (err error) {
		a, err = p.engine.Do(ctx, in, plan)
		return err
	})
	if err != nil {
		return nil, err // the work may still run past its deadline and write its own answer
	}
	p.metrics.count(a)
	return a, nil
}

// Parse takes a slot for reading settings that came with a score, whose parsers bound
// their work and memory but draw on no budget: no more of them are read at once than
// scores are worked on. It waits for the end of work.
func (p *Pool) Parse(ctx context.Context, work func() error) error {
	if err := p.enter(ctx, plain); err != nil {
		return err
	}
	s := &slot{start: time.Now(), parses: true}
	overrun := time.AfterFunc(p.config.Deadline, func() { p.overran(s) })
	defer func() {
		overrun.Stop()
		p.leave(s)
	}()
	return stage.Guard("", work)
}

// run is runAs for work that is neither short nor heavy.
func (p *Pool) run(ctx context.Context, job request.Job, size int, work func(context.Context) error) error {
	return p.runAs(ctx, plain, job, size, work)
}

// runAs takes a slot, does the work on it and reports the outcome.
func (p *Pool) runAs(ctx context.Context, c class, job request.Job, size int, work func(context.Context) error) error {
	ctx, span := stage.StartSpan(ctx, "score")
	defer span.End()
	err := p.enter(ctx, c)
	if err == nil {
		span.AddEvent("begun")
		err = p.within(ctx, c, work)
	}
	describe(span, job, size, err)
	p.metrics.outcome(job, size, err)
	var panicked *stage.PanicError
	if errors.As(err, &panicked) {
		p.logger.ErrorContext(ctx, "a job panicked", "task", string(job), "stage", string(panicked.Stage),
			"rule", panicked.Rule, "panic", panicked.Loggable(), "stack", string(panicked.Stack))
	}
	return err
}

// within runs work on a slot already taken and returns when ctx is done at the
// latest; the slot is given back when the work really ends.
func (p *Pool) within(parent context.Context, c class, work func(context.Context) error) error {
	ctx, cancel := context.WithTimeoutCause(parent, p.config.Deadline, stage.ErrDeadline)
	// Not where the work ends: the select below could see that end first.
	defer cancel()
	ctx, giveWay := stage.Pace(ctx)
	s := &slot{start: time.Now(), class: c}
	if c == heavy {
		giveWay()
	} else {
		long := time.AfterFunc(p.config.Heavy, func() {
			p.turn(s)
			giveWay()
		})
		defer long.Stop()
	}
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
