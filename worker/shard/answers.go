package shard

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"runtime"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/address"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// Config is what a [Runner] needs.
type Config struct {
	// Version is that of the engine, for answers.
	Version string
	Limits  musicxml.Limits
	// Workers is how many scores are worked on at once (default GOMAXPROCS), Deadline the
	// longest time for one (default 30 s).
	Workers  int
	Deadline time.Duration
	// Readers is how many scores are fetched at once (default four for each worker): a
	// request to storage is waited for, not worked on.
	Readers int
	Storage address.Storage
	// Wish is what is asked for, a check whose answer is a report alone.
	Wish request.Wish
	// Earlier are answers that are taken over where they hold, nil for none.
	Earlier *files.Earlier
}

// Runner answers scores. It is safe for concurrent use; all that it runs at a time
// shares one pool.
type Runner struct {
	config Config
	plan   request.Plan
	pool   files.Engine
}

// New returns a runner, or what is wrong with the wish.
func New(c Config) (*Runner, error) {
	if c.Workers <= 0 {
		c.Workers = runtime.GOMAXPROCS(0)
	}
	if c.Readers <= 0 {
		c.Readers = 4 * c.Workers
	}
	plan, err := c.Wish.Plan()
	if err != nil {
		return nil, err
	}
	if plan.Job() != request.JobCheck {
		return nil, fmt.Errorf("shards are checked; there is no %s of them", plan.Job())
	}
	// Nobody waits for these scores: none is turned away.
	p, err := pool.New(pool.Config{
		Size: c.Workers, Deadline: c.Deadline, Queue: math.MaxInt32, HeavyQueue: math.MaxInt32, Wait: 10000 * time.Hour,
	}, &worker.Engine{Version: c.Version, Limits: c.Limits}, nil, nil)
	if err != nil {
		return nil, err
	}
	if c.Earlier != nil {
		return &Runner{config: c, plan: plan, pool: files.Taking{Engine: p, Earlier: c.Earlier}}, nil
	}
	return &Runner{config: c, plan: plan, pool: p}, nil
}

// Source is one score to answer: what lies at an address, or what came with it.
type Source struct {
	// Name is what the answer calls it.
	Name string
	// Address is where it lies, "" where Data holds it.
	Address string
	Data    []byte
	// Failure says why there is none; everything but the name is empty then.
	Failure *report.Failure
}

// Line is what comes of one score.
type Line struct {
	// Text is one JSON object and a line end, as report.EncodeNDJSON writes it.
	Text []byte
	// Failure is why there is no report, nil where there is one. Retryable tells that it
	// may go well later: the address could not be read just now.
	Failure   *report.Failure
	Retryable bool
}

// fetched is a score whose bytes are there, or the error why they are not.
type fetched struct {
	Source
	err error
}

// Answers yields a line for every source, in their order. No more scores are held than
// are fetched and worked on at once, about twice; when ctx is done it ends at once.
func (r *Runner) Answers(ctx context.Context, sources iter.Seq[Source]) iter.Seq[Line] {
	scores := files.InOrder(ctx, r.config.Readers, sources, r.fetch)
	return files.InOrder(ctx, r.config.Workers, scores, r.answer)
}

func (r *Runner) fetch(ctx context.Context, s Source) fetched {
	if s.Failure != nil || s.Address == "" {
		return fetched{Source: s}
	}
	limit := r.config.Limits.MaxBytes
	if limit <= 0 {
		limit = musicxml.DefaultLimits().MaxBytes
	}
	data, err := r.config.Storage.Read(ctx, s.Address, limit)
	s.Data = data
	return fetched{s, err}
}

func (r *Runner) answer(ctx context.Context, f fetched) Line {
	if f.Failure != nil {
		return failed(f.Failure, false)
	}
	if f.err != nil {
		return failed(unread(f.Name, f.err), address.IsRetryable(f.err))
	}
	var a *answer.Answer
	err := stage.Guard("", func() (err error) {
		a, err = r.pool.Do(ctx, worker.Input{Name: f.Name, Data: f.Data}, r.plan)
		return err
	})
	if err != nil {
		return failed(report.NewFailure(f.Name, err), false)
	}
	var b bytes.Buffer
	if err := report.EncodeNDJSON(&b).Report(a.Report); err != nil {
		return failed(report.NewFailure(f.Name, err), false)
	}
	return Line{Text: b.Bytes()}
}

func failed(f *report.Failure, retryable bool) Line {
	var b bytes.Buffer
	_ = report.EncodeNDJSON(&b).Failure(f) // strings and numbers in memory
	return Line{Text: b.Bytes(), Failure: f, Retryable: retryable}
}

// unread says why an address could not be read.
func unread(name string, err error) *report.Failure {
	why := err
	var at *address.Error
	if errors.As(err, &at) {
		why = at.Err // the failure has a name of its own
	}
	if address.IsRetryable(err) {
		return &report.Failure{
			File: name, Code: report.CodeUnreachable, Problem: fmt.Sprintf("The address could not be read just now (%v).", why),
			Advice: "Try once more; if it happens again, look at the storage and the way to it.",
		}
	}
	return &report.Failure{
		File: name, Code: files.CodeNotAccessible, Problem: fmt.Sprintf("The address could not be read (%v).", why),
		Advice: "Check the address and the permissions.",
	}
}
