package webhook

import (
	"context"
	"errors"
	"time"

	"github.com/riverqueue/river"

	"partwright/worker/queue"
	"partwright/worker/store"
)

// mostAtOnce is how many messages are one job: as the scores of a batch, since a
// round trip of the queue costs more than a message. mailTime is after how long a job
// leaves the rest to the next, so that others get their turn.
const (
	mostAtOnce = 32
	mailTime   = 5 * time.Second
)

// mailing is a job: the first attempt of some deliveries to one webhook.
type mailing struct {
	Organization string   `json:"organization"`
	Webhook      string   `json:"webhook"`
	Deliveries   []string `json:"deliveries"`
}

// Kind implements [river.JobArgs]. It is permanent: it stands in databases.
func (mailing) Kind() string { return "deliver-to-webhook" }

func newMailing(some []store.Delivery) mailing {
	m := mailing{Organization: some[0].Organization, Webhook: some[0].Webhook}
	for i := range some {
		m.Deliveries = append(m.Deliveries, some[i].ID)
	}
	return m
}

// attempted is a delivery with what came of it.
type attempted struct {
	delivery string
	outcome
}

func (s *Service) mail(ctx context.Context, job *queue.Job[mailing]) error {
	return attemptAll(ctx, s, job, job.Args, 0)
}

// attemptAll attempts one delivery after the other, each the try of that number, and
// writes what came of all with the end of the job. One that fails has further attempts
// of its own.
func attemptAll[A river.JobArgs](ctx context.Context, s *Service, job *queue.Job[A], m mailing, try int) error {
	wait, end := s.pace.begin(m.Webhook, len(m.Deliveries), time.Now())
	if end == nil {
		return putOff(ctx, s, job, wait)
	}
	defer end()
	w, due, err := s.due(ctx, m)
	if err != nil {
		return err
	}
	var done []attempted
	for start := time.Now(); len(due) > 0 && time.Since(start) < mailTime; due = due[1:] {
		o, err := s.attempt(ctx, w, &due[0])
		if err != nil {
			return err
		}
		done = append(done, attempted{due[0].ID, o})
	}
	return s.store.Write(ctx, func(tx store.Tx) error {
		if err := s.recordAll(ctx, tx, m, try, done); err != nil {
			return err
		}
		if len(due) > 0 {
			if err := s.queue.Add(ctx, tx, m.Organization, Line, queue.Normal, newMailing(due)); err != nil {
				return err
			}
		}
		return job.Complete(ctx, tx)
	})
}

// putOff ends a job and lets another do the same after a while.
func putOff[A river.JobArgs](ctx context.Context, s *Service, job *queue.Job[A], wait time.Duration) error {
	return s.store.Write(ctx, func(tx store.Tx) error {
		if err := s.queue.AddAt(ctx, tx, Line, queue.Normal, s.store.Now().Add(wait), job.Args); err != nil {
			return err
		}
		return job.Complete(ctx, tx)
	})
}

func (s *Service) recordAll(ctx context.Context, tx store.Tx, m mailing, try int, done []attempted) error {
	var successes []store.Success
	for _, d := range done {
		if d.Failure == "" {
			successes = append(successes, store.Success{Delivery: d.delivery, Attempt: d.Attempt})
			continue
		}
		err := s.record(ctx, tx, delivery{m.Organization, m.Webhook, d.delivery, try}, d.outcome)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
	}
	return store.SaveSuccesses(ctx, tx, m.Organization, successes)
}
