package batch

import (
	"context"
	"time"

	"partwright/worker/store"
)

// Status is how far a batch is.
type Status struct {
	*store.Batch
	// Rate is how many scores a second got an answer lately, 0 where nothing did.
	Rate float64
	// Waited is how long the batch waited until work on it began, or has waited until now.
	Waited time.Duration
	// Left is about how long the rest will take, 0 where that cannot be estimated.
	Left time.Duration
}

// rateWindow is the time over which a rate is taken.
const rateWindow = 30 * time.Second

// Status finds a batch.
func (s *Service) Status(ctx context.Context, organization, id string) (*Status, error) {
	var status *Status
	err := s.store.Read(ctx, func(tx store.Tx) error {
		b, err := store.BatchByID(ctx, tx, organization, id)
		if err == nil {
			status, err = s.status(ctx, tx, b)
		}
		return err
	})
	return status, err
}

func (s *Service) status(ctx context.Context, tx store.Tx, b *store.Batch) (*Status, error) {
	status := &Status{Batch: b, Waited: waited(b)}
	if b.Waiting == 0 {
		return status, nil
	}
	now := s.store.Now()
	if b.Started.IsZero() {
		status.Waited = max(now.Sub(b.Created), 0)
	}
	since := now.Add(-rateWindow)
	if b.Created.After(since) {
		since = b.Created
	}
	answered, err := store.AnsweredSince(ctx, tx, b, since)
	if err != nil || answered == 0 || !now.After(since) {
		return status, err
	}
	status.Rate = float64(answered) / now.Sub(since).Seconds()
	status.Left = time.Duration(float64(b.Waiting) / status.Rate * float64(time.Second))
	return status, nil
}

// waited is how long a batch waited for the first work on it, 0 without any. The clocks
// are those of two machines, perhaps.
func waited(b *store.Batch) time.Duration {
	if b.Started.IsZero() {
		return 0
	}
	return max(b.Started.Sub(b.Created), 0)
}

// mostly says in a word or two what took most of the time between a batch's making and
// its end: its scores' coming, waiting until work began, one slow score, its scores, or
// work on other things between, where its scores had less than half a worker.
func mostly(b *store.Batch) string {
	begun := b.Started
	if begun.Before(b.Closed) {
		begun = b.Closed
	}
	coming, waiting, working := b.Closed.Sub(b.Created), begun.Sub(b.Closed), b.Finished.Sub(begun)
	switch {
	case coming >= waiting && coming >= working:
		return "taking in"
	case waiting >= working:
		return "waiting"
	case b.Slowest >= working/2:
		return "one score"
	case b.Worked < working/2:
		return "other work"
	}
	return "its scores"
}

// List returns batches of an organization, the newest first and at most limit: of those
// that come after a batch, where one is named.
func (s *Service) List(ctx context.Context, organization, after string, limit int) ([]*Status, error) {
	var all []*Status
	err := s.store.Read(ctx, func(tx store.Tx) error {
		all = nil
		batches, err := store.Batches(ctx, tx, organization, after, limit)
		for _, b := range batches {
			if err != nil {
				return err
			}
			var status *Status
			status, err = s.status(ctx, tx, b)
			all = append(all, status)
		}
		return err
	})
	return all, err
}

// Events returns what happened to a batch after one event, at most limit, and
// whether more is to come: a finished or canceled batch may still be taken up
// again, but nothing happens to it by itself.
func (s *Service) Events(ctx context.Context, organization, id string, after int64, limit int) (events []store.Event, more bool, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		b, err := store.BatchByID(ctx, tx, organization, id)
		if err != nil {
			return err
		}
		more = b.State == store.BatchOpen || b.State == store.BatchClosed
		events, err = store.Events(ctx, tx, organization, id, after, limit)
		return err
	})
	return events, more, err
}
