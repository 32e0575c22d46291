// Package queue keeps durable jobs beside the data of a [store.Store]: a job is
// written in the transaction of what it is for, and is done in the transaction of
// what comes of it. Begin with [Open].
//
// Jobs are run by River, on the SQLite or PostgreSQL of the store. What a kind of
// job means is for whoever calls [Handle]; a job may be begun more than once, and
// only [Job.Complete] in the transaction of its results makes it count once.
package queue

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/trace"

	"partwright/worker/store"
)

// Priority orders jobs: none of a later one begins while one of an earlier waits.
type Priority int

// Priorities, the most urgent first: somebody waits for a single score; an
// archive takes its time.
const (
	Urgent Priority = iota + 1
	Normal
	Bulk
)

// Priorities lists all priorities.
var Priorities = []Priority{Urgent, Normal, Bulk}

// String names the priority in metrics.
func (p Priority) String() string {
	switch p {
	case Urgent:
		return "urgent"
	case Normal:
		return "normal"
	}
	return "bulk"
}

// Config configures a [Queue].
type Config struct {
	Store *store.Store
	// Workers are how many jobs of each line run at once in this process. Without
	// any, jobs are only added.
	Workers map[string]int
	// Logger is nil for none.
	Logger *slog.Logger
	// Tracing makes the spans of jobs; nil for none.
	Tracing trace.TracerProvider
	// Heartbeat is how often this process says that it is alive (default 5 s), and
	// Dead after how long without that its jobs are given to others (default four
	// times as long).
	Heartbeat, Dead time.Duration
	// FetchCooldown is the shortest time between two looks for jobs (default
	// 2 ms): the longer, the fewer jobs a second.
	FetchCooldown time.Duration
	// FetchPoll is how long a job can wait that was announced to nobody (default 1 s; on
	// SQLite, which announces none, 250 ms).
	FetchPoll time.Duration
	// JobTimeout is the longest time for one job (default 30 min).
	JobTimeout time.Duration
	// Retry is how long a job waits after its first error (default 1 s); after each
	// further one twice as long, up to a minute.
	Retry time.Duration
}

func (c Config) withDefaults() Config {
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	if c.FetchPoll <= 0 && c.Store != nil && c.Store.SQLite() != nil {
		c.FetchPoll = 250 * time.Millisecond
	}
	for _, d := range []struct {
		value    *time.Duration
		fallback time.Duration
	}{
		{&c.Heartbeat, 5 * time.Second}, {&c.FetchCooldown, 2 * time.Millisecond},
		{&c.FetchPoll, time.Second}, {&c.JobTimeout, 30 * time.Minute}, {&c.Retry, time.Second},
	} {
		if *d.value <= 0 {
			*d.value = d.fallback
		}
	}
	if c.Dead <= 0 {
		c.Dead = 4 * c.Heartbeat
	}
	return c
}

// Queue adds jobs and runs them. It is safe for concurrent use.
type Queue struct {
	id     string
	config Config
	store  *store.Store
	logger *slog.Logger
	client client
	own    ownJobs
	stop   context.CancelFunc
	beats  chan struct{} // closed when the heart has stopped
}

// Kinds are the kinds of jobs that a process can work on; see [Handle].
type Kinds struct {
	workers *river.Workers
	queue   *Queue // set by Open
}

// NewKinds returns no kinds.
func NewKinds() *Kinds { return &Kinds{workers: river.NewWorkers()} }

// Handle says what is done for jobs of one kind. An error makes it be done again
// after a while, as often as it takes; what can never succeed must be completed.
func Handle[A river.JobArgs](k *Kinds, work func(context.Context, *Job[A]) error) {
	river.AddWorker(k.workers, river.WorkFunc(func(ctx context.Context, job *river.Job[A]) error {
		ctx, span := k.queue.startSpan(ctx, job.JobRow)
		defer span.End()
		defer k.queue.own.begin(job.ID)()
		err := work(ctx, &Job[A]{Args: job.Args, row: job.JobRow, client: k.queue.client})
		if err != nil {
			span.SetStatus(codes.Error, "to be tried again")
		}
		return err
	}))
}

// Job is a job that is being worked on.
type Job[A river.JobArgs] struct {
	Args   A
	row    *rivertype.JobRow
	client client
}

// Faults is how often the job ended in an error before. The attempts that a
// killed process left unfinished do not count.
func (j *Job[A]) Faults() int { return len(j.row.Errors) }

// Deaths is how often a process ended while it worked on the job.
func (j *Job[A]) Deaths() int { return j.row.Attempt - 1 - len(j.row.Errors) }

// Complete marks the job as done in the transaction of its results. An error
// means that the transaction must be given up.
func (j *Job[A]) Complete(ctx context.Context, tx store.Tx) error {
	state, err := j.client.complete(ctx, tx, j.row)
	if err != nil {
		return fmt.Errorf("completing a job: %w", err)
	}
	if state != rivertype.JobStateCompleted {
		return fmt.Errorf("completing a job: it is %s", state)
	}
	return nil
}

// CompleteInPart marks the job as done as [Job.Complete] does, and adds one for what is
// left of it, which has its turn: more urgent jobs begin before it, others of its kind
// do not.
func (j *Job[A]) CompleteInPart(ctx context.Context, tx store.Tx, left A) error {
	if err := j.Complete(ctx, tx); err != nil {
		return err
	}
	err := j.client.insert(ctx, tx, []river.InsertManyParams{{Args: left, InsertOpts: &river.InsertOpts{
		Queue: j.row.Queue, Priority: j.row.Priority, ScheduledAt: j.row.ScheduledAt,
	}}})
	if err != nil {
		return fmt.Errorf("adding what is left of a job: %w", err)
	}
	return nil
}

// Open prepares the tables of the queue. Nothing runs before [Queue.Start].
func Open(ctx context.Context, config Config, kinds *Kinds) (*Queue, error) {
	config = config.withDefaults()
	if config.Dead <= config.Heartbeat {
		return nil, errors.New("a worker would be taken for dead between two heartbeats")
	}
	q := &Queue{id: rand.Text(), config: config, store: config.Store, logger: config.Logger}
	kinds.queue = q
	var err error
	if q.client, err = newClient(q, kinds); err != nil {
		return nil, err
	}
	if err := q.store.Alone(ctx, func() error { return q.client.migrate(ctx) }); err != nil {
		return nil, fmt.Errorf("preparing the queue: %w", err)
	}
	return q, nil
}

// Dead is after how long without a heartbeat a process is taken for gone.
func (q *Queue) Dead() time.Duration { return q.config.Dead }

// ID names this process among those that share the store.
func (q *Queue) ID() string { return q.id }

// Start brings back the jobs of processes that are gone and begins to work. It
// returns at once; ctx ends nothing, [Queue.Stop] does.
func (q *Queue) Start(ctx context.Context) error {
	if err := q.Beat(ctx); err != nil {
		return fmt.Errorf("starting the queue: %w", err)
	}
	if err := q.sweepAtStart(ctx); err != nil {
		return fmt.Errorf("bringing back interrupted jobs: %w", err)
	}
	ctx, q.stop = context.WithCancel(context.WithoutCancel(ctx))
	q.beats = make(chan struct{})
	go q.live(ctx)
	if len(q.config.Workers) == 0 {
		return nil
	}
	if err := q.client.start(ctx); err != nil {
		q.stop()
		<-q.beats
		return fmt.Errorf("starting the queue: %w", err)
	}
	return nil
}

// Stop takes no further jobs and waits for those that run until ctx is done, when
// they are interrupted: they will be begun again. It must follow [Queue.Start].
func (q *Queue) Stop(ctx context.Context) error {
	var err error
	if len(q.config.Workers) > 0 {
		err = q.client.stop(ctx)
	}
	q.stop()
	<-q.beats
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	if err != nil {
		return fmt.Errorf("stopping the queue: %w", err) // jobs of ours are taken up when we are missed
	}
	return q.store.Write(last, func(tx store.Tx) error { return store.Leave(last, tx, q.id) })
}
