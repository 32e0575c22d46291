// Package batch answers batches of scores durably: every score that was accepted
// gets exactly one answer, whatever happens to the process in between. Begin with
// [Open].
//
// A score waits in the store and a job in the queue, both written in one
// transaction; a job works on a chunk of scores and is done in the transaction
// that writes their answers.
package batch

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"sync"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/queue"
	"partwright/worker/request"
	"partwright/worker/store"
)

// The lines where the jobs of batches wait: single scores, for which somebody waits, have
// one of their own, so that no chunk that is worked on keeps them from being begun. How
// much is worked on at once is the pool's to say.
const (
	line   = "scores"
	single = "single-scores"
)

// Pool is what the service needs of a [pool.Pool].
type Pool interface {
	Do(context.Context, worker.Input, request.Plan) (*answer.Answer, error)
}

// Config configures a [Service].
type Config struct {
	Store *store.Store
	// Pool works on the scores. Nil lets this process add scores and leave the
	// work to others on the same database.
	Pool Pool
	// Workers is how many chunks are worked on at once, and how many single scores
	// beside, as a rule as many as the pool has slots (default 1).
	Workers int
	// Version is the engine's: answers of the same version, options and score are
	// the same.
	Version string
	// ChunkScores and ChunkBytes bound a chunk (default 32 scores, 2 MiB): large
	// enough that its transaction does not count beside the work, small enough
	// that little is done twice after a kill.
	ChunkScores int
	ChunkBytes  int64
	// ChunkTime is how long a chunk is worked on, but for the score that is on then
	// (default 1 s): what is left waits for its turn again, so that more urgent ones wait
	// no longer where each score takes many times as long as a check.
	ChunkTime time.Duration
	// KeepFor is how long a batch is kept in which nothing happens any more, where
	// its organization says nothing else (default: until it is deleted). KeepKeys is the same for idempotency keys (default 24 h).
	KeepFor, KeepKeys time.Duration
	// Search keeps what was found as rows, to be asked by [Service.Ask].
	Search bool
	// Kinds are further kinds of jobs for the same queue, and Lines how many of
	// each further line this process works on at once; nil for none.
	Kinds *queue.Kinds
	Lines map[string]int
	// Queue is how the queue is tuned; its Store and Workers are set here.
	Queue queue.Config
	// Metrics and Logger may be nil.
	Metrics *Metrics
	Logger  *slog.Logger
}

func (c Config) withDefaults() Config {
	c.Workers = max(c.Workers, 1)
	if c.ChunkScores <= 0 {
		c.ChunkScores = 32
	}
	if c.ChunkBytes <= 0 {
		c.ChunkBytes = 2 << 20
	}
	if c.ChunkTime <= 0 {
		c.ChunkTime = time.Second
	}
	if c.KeepKeys <= 0 {
		c.KeepKeys = 24 * time.Hour
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	return c
}

// Errors of a service, beside [store.ErrNotFound] and [store.ErrKeyReused].
var (
	// ErrClosed is returned for a batch that takes no further scores.
	ErrClosed = errors.New("the batch takes no further scores")
	// ErrDeleted is returned for an idempotency key whose batch has been deleted.
	ErrDeleted = errors.New("the batch was deleted")
	// ErrGivenUp is returned where a batch was deleted while its scores came: by its
	// organization, or because this process was cut off from the database so long that
	// it was taken for gone.
	ErrGivenUp = errors.New("the batch was deleted while its scores came")
	// ErrState is returned for what a batch cannot do in its state.
	ErrState = errors.New("the state of the batch does not allow that")
	// ErrInProgress is returned while another request with the same idempotency
	// key is being answered.
	ErrInProgress = errors.New("a request with the same idempotency key is being answered")
)

// Service takes batches and answers them. It is safe for concurrent use.
type Service struct {
	config  Config
	store   *store.Store
	queue   *queue.Queue
	logger  *slog.Logger
	metrics *Metrics
	recipes recipes
	watched watched
	keys    keys

	stop context.CancelFunc
	wait sync.WaitGroup
}

// Open prepares a service. Nothing is worked on before [Service.Start].
func Open(ctx context.Context, config Config) (*Service, error) {
	config = config.withDefaults()
	s := &Service{config: config, store: config.Store, logger: config.Logger, metrics: config.Metrics}
	kinds := config.Kinds
	if kinds == nil {
		kinds = queue.NewKinds()
	}
	queue.Handle(kinds, s.work)
	c := config.Queue
	c.Store, c.Logger = config.Store, config.Logger
	if config.Pool != nil {
		c.Workers = map[string]int{line: config.Workers, single: config.Workers}
		maps.Copy(c.Workers, config.Lines)
	}
	var err error
	if s.queue, err = queue.Open(ctx, c, kinds); err != nil {
		return nil, err
	}
	s.metrics.watch(s)
	return s, nil
}

// Start takes up what was interrupted and begins to work; it returns at once.
func (s *Service) Start(ctx context.Context) error {
	if err := s.queue.Start(ctx); err != nil {
		return err
	}
	ctx, s.stop = context.WithCancel(context.WithoutCancel(ctx))
	s.wait.Go(func() { s.maintain(ctx) })
	return nil
}

// Stop lets the chunks that are worked on end, but not longer than ctx lasts;
// those left are begun again by the next process. It must follow [Service.Start].
func (s *Service) Stop(ctx context.Context) error {
	s.stop()
	s.wait.Wait()
	return s.queue.Stop(ctx)
}

// Queue is where the service puts its jobs, for others that share it.
func (s *Service) Queue() *queue.Queue { return s.queue }

// Writable tells whether the database takes a write now, or why not.
func (s *Service) Writable(ctx context.Context) error { return s.queue.Beat(ctx) }

// DiskSpace is the room on the disk of the data directory; see
// [store.Store.DiskSpace].
func (s *Service) DiskSpace() (free, size uint64, known bool) { return s.store.DiskSpace() }

// houseTime is the time between two looks for what may be deleted.
const houseTime = 10 * time.Minute

// maintain deletes what nobody can ask for any more, until ctx is done.
func (s *Service) maintain(ctx context.Context) {
	for {
		if err := s.tidy(ctx); err != nil && ctx.Err() == nil {
			s.logger.WarnContext(ctx, "deleting what is no longer needed failed", "error", err.Error())
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(houseTime):
		}
	}
}

// tidy deletes uploads that broke off with their process, keys that are too old,
// and batches and assignments that are past their time.
func (s *Service) tidy(ctx context.Context) error {
	var old []*store.Batch
	err := s.store.Write(ctx, func(tx store.Tx) error {
		if _, err := store.ForgetKeys(ctx, tx, s.store.Now().Add(-s.config.KeepKeys)); err != nil {
			return err
		}
		if _, err := s.store.ForgetAssignments(ctx, tx, s.config.KeepFor); err != nil {
			return err
		}
		seen, err := s.store.SeenSince(ctx, tx, s.queue.Dead())
		if err == nil {
			old, err = store.AbandonedBatches(ctx, tx, seen)
		}
		return err
	})
	if err == nil {
		err = s.store.Read(ctx, func(tx store.Tx) error {
			begun, err := store.Deletions(ctx, tx, 1000)
			if err != nil {
				return err
			}
			old = append(old, begun...)
			past, err := s.store.PastRetention(ctx, tx, s.config.KeepFor, 1000)
			old = append(old, past...)
			return err
		})
	}
	deleted := s.deleteOld(ctx, old)
	if err == nil {
		err = s.tidyBlobs(ctx)
	}
	if err == nil {
		err = s.store.Shrink(ctx)
	}
	if err == nil {
		err = s.store.EmptyLog(ctx)
	}
	if deleted > 0 {
		s.logger.InfoContext(ctx, "batches were deleted", "batches", deleted)
	}
	if err == nil {
		err = s.searchEarlier(ctx)
	}
	if err != nil {
		return fmt.Errorf("keeping house: %w", err)
	}
	return nil
}

// No save takes as long as orphanAge: what was carried outside before it and belongs to no
// row belongs to nobody. Of sweptAtOnce names at a time as many are looked at as sweepTime
// lets.
const (
	orphanAge   = 24 * time.Hour
	sweptAtOnce = 1000
	sweepTime   = time.Minute
)

// tidyBlobs removes what lies outside the database and belongs to no row any more.
func (s *Service) tidyBlobs(ctx context.Context) error {
	stays := s.store.RemoveBlobs(ctx)
	removed := 0
	for begun := s.store.Now(); s.store.Now().Sub(begun) < sweepTime; {
		n, end, err := s.store.SweepBlobs(ctx, orphanAge, sweptAtOnce)
		if err != nil {
			return errors.Join(stays, err)
		}
		if removed += n; end {
			break
		}
	}
	if removed > 0 {
		s.logger.InfoContext(ctx, "documents that were never saved were removed", "documents", removed)
	}
	return stays
}

// deleteOld deletes batches, each for itself: one that cannot be deleted keeps no other,
// and is tried again when the house is kept next.
func (s *Service) deleteOld(ctx context.Context, old []*store.Batch) (deleted int) {
	stuck := 0
	for _, b := range old {
		err := s.Delete(ctx, b.Organization, b.ID)
		if errors.Is(err, store.ErrNotFound) { // its deletion had begun
			err = s.store.FinishDeletion(ctx, b.Organization, b.ID)
		}
		switch {
		case ctx.Err() != nil:
			return deleted
		case err != nil:
			stuck++
			s.logger.WarnContext(ctx, "a batch cannot be deleted", "batch", b.ID, "error", err.Error())
		default:
			deleted++
		}
	}
	s.metrics.undeletable(stuck)
	return deleted
}
