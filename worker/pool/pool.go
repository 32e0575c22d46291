package pool

import (
	"container/list"
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"go.opentelemetry.io/otel/trace"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// Pool runs scores on a bounded number of slots; more wait in a bounded queue, in the order
// they came, but for those that take far less time than others before them. Heavy ones have a share of the slots and a queue of their
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

// Hander is an engine that hands scores over to somebody who may not be there yet. It
// says by [stage.Run] while a score is worked on; of any other engine that is the whole
// of Do.
type Hander interface {
	Engine
	// Together is Do for several scores that are handed over without waiting for what
	// comes of each, and are worked on one after the other. It is called until end is.
	Together() (do func(context.Context, worker.Input, request.Plan) (*answer.Answer, error), end func())
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
	takes := estimate(&in, plan)
	err := p.runAs(ctx, p.config.class(takes), takes, plan.Job(), in.Size()+plan.Size(), func(ctx context.Context) (err error) {
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
	if err := p.enter(ctx, plain, 0); err != nil {
		return err
	}
	s, r := &slot{start: time.Now()}, &run{}
	overrun := time.AfterFunc(p.config.Deadline, func() { p.overran(r) })
	defer func() {
		overrun.Stop()
		p.ended(r)
		p.leave(s)
	}()
	return stage.Guard("", work)
}

// run is runAs for work that is neither short nor heavy.
func (p *Pool) run(ctx context.Context, job request.Job, size int, work func(context.Context) error) error {
	return p.runAs(ctx, plain, 0, job, size, work)
}

// runAs takes a slot, does the work on it, which is thought to take so long, and reports the
// outcome.
func (p *Pool) runAs(ctx context.Context, c class, takes time.Duration, job request.Job, size int, work func(context.Context) error) error {
	return p.report(ctx, job, size, func(ctx context.Context) error {
		if err := p.enter(ctx, c, takes); err != nil {
			return err
		}
		s := &slot{start: time.Now(), class: c, scores: 1}
		return p.within(ctx, c, s, work, func() { p.leave(s) })
	})
}

// report does one job and reports the outcome.
func (p *Pool) report(ctx context.Context, job request.Job, size int, do func(context.Context) error) error {
	ctx, span := stage.StartSpan(ctx, "score")
	defer span.End()
	err := do(ctx)
	describe(span, job, size, err)
	p.metrics.outcome(job, size, err)
	var panicked *stage.PanicError
	if errors.As(err, &panicked) {
		p.logger.ErrorContext(ctx, "a job panicked", "task", string(job), "stage", string(panicked.Stage),
			"rule", panicked.Rule, "panic", panicked.Loggable(), "stack", string(panicked.Stack))
	}
	return err
}

// within runs work on a slot already taken and returns when its time is over or ctx is
// done at the latest; leave is called when the work really ends. Only what is short does
// not give way to others from the beginning.
func (p *Pool) within(ctx context.Context, c class, s *slot, work func(context.Context) error, leave func()) error {
	trace.SpanFromContext(ctx).AddEvent("begun")
	timed, clock := stage.WithClock(ctx, p.config.Deadline)
	timed, giveWay := stage.Pace(timed)
	if c != short {
		giveWay()
	}
	if c != heavy {
		clock.At(p.config.Heavy, func() {
			p.turn(s)
			giveWay()
		})
	}
	r, over := &run{}, make(chan struct{})
	clock.At(p.config.Deadline, func() {
		p.overran(r)
		close(over)
	})
	done := make(chan error, 1)
	go func() {
		err := stage.Guard("", func() error { return p.runs(timed, work) })
		clock.End()
		p.ended(r)
		leave()
		done <- err
	}()
	select {
	case err := <-done:
		switch {
		case err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()):
			return context.Cause(ctx)
		case errors.Is(err, context.DeadlineExceeded):
			return stage.ErrDeadline
		}
		return err
	case <-over:
		return stage.ErrDeadline
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}

// runs does work, whose time runs unless the engine says itself when it does.
func (p *Pool) runs(ctx context.Context, work func(context.Context) error) error {
	if _, says := p.engine.(Hander); says {
		return work(ctx)
	}
	ctx, stop := stage.Run(ctx)
	defer stop()
	return work(ctx)
}
