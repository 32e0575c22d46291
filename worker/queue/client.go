package queue

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"

	"partwright/worker/store"
)

// client is River on one of the two databases.
type client interface {
	migrate(context.Context) error
	start(context.Context) error
	stop(context.Context) error
	insert(context.Context, store.Tx, []river.InsertManyParams) error
	complete(context.Context, store.Tx, *rivertype.JobRow) (rivertype.JobState, error)
	dialect() dialect
}

func newClient(q *Queue, kinds *Kinds) (client, error) {
	if db := q.store.SQLite(); db != nil {
		return on(q, kinds, riversqlite.New(db), store.SQLTx, sqlite)
	}
	return on(q, kinds, riverpgxv5.New(q.store.Postgres()), store.PgxTx, postgres)
}

// driven is River with the driver D, whose transactions are T.
type driven[D riverdriver.Driver[T], T any] struct {
	river  *river.Client[T]
	driver D
	unwrap func(store.Tx) (T, bool)
	words  dialect
	logger *slog.Logger
}

func on[D riverdriver.Driver[T], T any](q *Queue, kinds *Kinds, driver D, unwrap func(store.Tx) (T, bool), words dialect) (client, error) {
	c := q.config
	// River says at level info that it started and stopped; so do we.
	logger := slog.New(&atLeastWarn{c.Logger.Handler()})
	config := &river.Config{
		ID: q.id, Logger: logger, Workers: kinds.workers,
		FetchCooldown: c.FetchCooldown, FetchPollInterval: max(c.FetchPoll, c.FetchCooldown),
		JobTimeout: c.JobTimeout, RescueStuckJobsAfter: 2 * c.JobTimeout,
		// Attempts count what kills interrupted as well, and a fault is never the
		// score's: nothing is given up.
		MaxAttempts: 1 << 20, RetryPolicy: patience{c.Retry},
		ErrorHandler: &errorLog{c.Logger}, Hooks: []rivertype.Hook{&turns{}},
		CompletedJobRetentionPeriod: time.Hour,
	}
	if len(c.Workers) > 0 {
		config.Queues = map[string]river.QueueConfig{}
		for line, n := range c.Workers {
			config.Queues[line] = river.QueueConfig{MaxWorkers: n}
		}
	}
	r, err := river.NewClient(driver, config)
	if err != nil {
		return nil, err
	}
	return &driven[D, T]{river: r, driver: driver, unwrap: unwrap, words: words, logger: logger}, nil
}

func (d *driven[D, T]) dialect() dialect { return d.words }

func (d *driven[D, T]) migrate(ctx context.Context) error {
	m, err := rivermigrate.New(d.driver, &rivermigrate.Config{Logger: d.logger})
	if err != nil {
		return err
	}
	_, err = m.Migrate(ctx, rivermigrate.DirectionUp, nil)
	return err
}

func (d *driven[D, T]) start(ctx context.Context) error { return d.river.Start(ctx) }

// stop lets running jobs end while ctx lasts, then interrupts them.
func (d *driven[D, T]) stop(ctx context.Context) error {
	err := d.river.Stop(ctx)
	if err == nil {
		return nil
	}
	hard, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	return errors.Join(err, d.river.StopAndCancel(hard))
}

var errForeignTx = errors.New("the transaction is of another store")

func (d *driven[D, T]) insert(ctx context.Context, tx store.Tx, jobs []river.InsertManyParams) error {
	own, ok := d.unwrap(tx)
	if !ok {
		return errForeignTx
	}
	_, err := d.river.InsertManyFastTx(ctx, own, jobs)
	return err
}

// args stand for those of any kind of job.
type args struct{ json.RawMessage }

// Kind implements [river.JobArgs].
func (args) Kind() string { return "any" }

func (d *driven[D, T]) complete(ctx context.Context, tx store.Tx, row *rivertype.JobRow) (rivertype.JobState, error) {
	own, ok := d.unwrap(tx)
	if !ok {
		return "", errForeignTx
	}
	job, err := river.JobCompleteTx[D](ctx, own, &river.Job[args]{JobRow: row})
	if err != nil {
		return "", err
	}
	return job.State, nil
}

// patience is when a job is tried again after an error: soon at first, since most
// errors are a database that is gone for a moment.
type patience struct{ first time.Duration }

const lastRetry = time.Minute

// NextRetry implements [river.ClientRetryPolicy].
func (p patience) NextRetry(job *rivertype.JobRow) time.Time {
	wait := p.first << min(len(job.Errors), 6)
	return time.Now().Add(min(wait, lastRetry))
}

// errorLog logs the errors of jobs without their arguments.
type errorLog struct{ *slog.Logger }

// HandleError implements [river.ErrorHandler].
func (l *errorLog) HandleError(ctx context.Context, job *rivertype.JobRow, err error) *river.ErrorHandlerResult {
	l.WarnContext(ctx, "a job failed and will be tried again", "kind", job.Kind, "job", job.ID, "faults", len(job.Errors)+1, "error", err.Error())
	return nil
}

// HandlePanic implements [river.ErrorHandler].
func (l *errorLog) HandlePanic(ctx context.Context, job *rivertype.JobRow, _ any, trace string) *river.ErrorHandlerResult {
	l.ErrorContext(ctx, "a job panicked and will be tried again", "kind", job.Kind, "job", job.ID, "stack", trace)
	return nil
}

// atLeastWarn passes warnings and errors.
type atLeastWarn struct{ slog.Handler }

// Enabled implements [slog.Handler].
func (h *atLeastWarn) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && h.Handler.Enabled(ctx, level)
}
