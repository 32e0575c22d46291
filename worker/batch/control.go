package batch

import (
	"context"
	"time"

	"partwright/worker/queue"
	"partwright/worker/store"
)

// change does something to a batch in one transaction, and wakes those who watch.
func (s *Service) change(ctx context.Context, organization, id string, f func(store.Tx, *store.Batch) error) (*store.Batch, error) {
	var b *store.Batch
	err := s.store.Write(ctx, func(tx store.Tx) (err error) {
		b, err = s.store.Change(ctx, tx, organization, id, func(b *store.Batch) error { return f(tx, b) })
		return err
	})
	if err != nil {
		return nil, err
	}
	s.changed(ctx, b)
	return b, nil
}

// changed tells those who watch a batch, and the log, what a transaction made of it.
func (s *Service) changed(ctx context.Context, b *store.Batch) {
	s.watched.changed(b.ID)
	if b.JustStarted {
		s.logger.InfoContext(ctx, "a batch is begun", "batch", b.ID, "organization", b.Organization, "scores", b.Total,
			"waited_seconds", waited(b).Seconds())
	}
	if b.JustFinished {
		s.logger.InfoContext(ctx, "a batch is finished", "batch", b.ID, "organization", b.Organization,
			"scores", b.Total, "failed", b.Failed, "seconds", b.Finished.Sub(b.Created).Seconds(), "mostly", mostly(b),
			"waited_seconds", waited(b).Seconds(), "worked_seconds", b.Worked.Seconds(),
			"slowest_seconds", b.Slowest.Seconds(), "slowest_score", b.SlowestNumber)
	}
}

// Close takes no further scores; the batch is finished once all have an answer.
// Closing again changes nothing.
func (s *Service) Close(ctx context.Context, organization, id string) (*store.Batch, error) {
	return s.change(ctx, organization, id, func(_ store.Tx, b *store.Batch) error {
		switch {
		case b.State == store.BatchClosed, b.State == store.BatchFinished:
			return nil
		case b.State != store.BatchOpen, b.Receiver != "":
			return ErrState
		}
		s.closed(b)
		return nil
	})
}

func (s *Service) closed(b *store.Batch) {
	b.State, b.Closed, b.Receiver = store.BatchClosed, s.store.Now(), ""
	b.Tell(store.EventClosed)
}

// Cancel takes the scores without an answer out of the work. Canceling again
// changes nothing; a finished batch cannot be canceled.
func (s *Service) Cancel(ctx context.Context, organization, id string) (*store.Batch, error) {
	return s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
		switch {
		case b.State == store.BatchCanceled:
			return nil
		case b.State == store.BatchFinished, b.Receiver != "":
			return ErrState
		}
		b.State, b.Finished = store.BatchCanceled, s.store.Now()
		if b.Closed.IsZero() {
			b.Closed = b.Finished
		}
		if err := store.CancelWaiting(ctx, tx, b); err != nil {
			return err
		}
		b.Tell(store.EventCanceled)
		return nil
	})
}

// Resume takes a canceled batch up again. It takes no further scores. One that is
// being worked on goes on as it is.
func (s *Service) Resume(ctx context.Context, organization, id string) (*store.Batch, error) {
	return s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
		switch b.State {
		case store.BatchOpen, store.BatchClosed:
			return nil
		case store.BatchFinished:
			return ErrState
		}
		b.State, b.Finished = store.BatchClosed, time.Time{}
		if err := store.ResumeCanceled(ctx, tx, b); err != nil {
			return err
		}
		b.Tell(store.EventResumed)
		return s.enqueuePending(ctx, tx, b)
	})
}

// Retry works again on the scores that failed, and only on those. What was no
// score at all stays failed.
func (s *Service) Retry(ctx context.Context, organization, id string) (*store.Batch, error) {
	return s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
		if b.State == store.BatchCanceled || b.Receiver != "" {
			return ErrState
		}
		n, err := store.RetryFailed(ctx, tx, b)
		if err != nil || n == 0 {
			return err
		}
		if b.State == store.BatchFinished {
			b.State, b.Finished = store.BatchClosed, time.Time{}
		}
		b.Tell(store.EventRetried)
		return s.enqueuePending(ctx, tx, b)
	})
}

// enqueuePending adds jobs for every member that waits. Jobs for some of them may
// be there already: they find nothing left to do, or leave nothing to these.
func (s *Service) enqueuePending(ctx context.Context, tx store.Tx, b *store.Batch) error {
	pending, err := store.Pending(ctx, tx, b)
	if err != nil {
		return err
	}
	return s.enqueue(ctx, tx, b, pending, urgency(len(pending)))
}

// enqueue adds jobs for members that wait.
func (s *Service) enqueue(ctx context.Context, tx store.Tx, b *store.Batch, members []store.Span, p queue.Priority) error {
	p, err := patience(ctx, tx, b, len(members), p)
	if err != nil {
		return err
	}
	in := line
	if p == queue.Urgent {
		in = single
	}
	return s.queue.Add(ctx, tx, b.Organization, in, p, s.chunks(b, members)...)
}

// smallOrder is how many scores that came together go before archives.
const smallOrder = 100

// urgency is how urgent so many scores are that came together.
func urgency(scores int) queue.Priority {
	switch {
	case scores <= 1:
		return queue.Urgent
	case scores <= smallOrder:
		return queue.Normal
	}
	return queue.Bulk
}

// patience takes the urgency from scores that were added to a batch, of an organization
// of which as many wait in this and other small orders as make an archive: whoever sends
// an archive score by score would keep the archives of all others waiting for as long as
// that goes on.
func patience(ctx context.Context, tx store.Tx, b *store.Batch, added int, p queue.Priority) (queue.Priority, error) {
	if p == queue.Bulk {
		return p, nil
	}
	waiting, err := store.WaitingInSmall(ctx, tx, b.Organization, b.ID, smallOrder)
	if waiting+b.Waiting-int64(added) > smallOrder {
		p = queue.Bulk
	}
	return p, err
}

// Delete takes a batch away with its scores and answers.
func (s *Service) Delete(ctx context.Context, organization, id string) error {
	err := s.store.DeleteBatch(ctx, organization, id)
	if err == nil {
		s.watched.changed(id)
		s.removeBlobs(ctx)
	}
	return err
}

// DeleteScore takes one score of a batch away with its answer, in whatever state
// the batch is. An answer that is being worked on is dropped; its number is not
// given again.
func (s *Service) DeleteScore(ctx context.Context, organization, id string, number int64) error {
	_, err := s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
		if err := store.DeleteMember(ctx, tx, b, number); err != nil {
			return err
		}
		b.Tell(store.EventDeleted)
		return nil
	})
	if err == nil {
		s.removeBlobs(ctx)
	}
	return err
}

// removeBlobs removes what lies outside the database and was deleted. What cannot be goes
// when the house is kept next: it is deleted for whoever asks.
func (s *Service) removeBlobs(ctx context.Context) {
	if err := s.store.RemoveBlobs(ctx); err != nil {
		s.logger.WarnContext(ctx, "deleted documents could not be removed yet", "error", err.Error())
	}
}
