package webhook

import (
	"context"
	"errors"

	"partwright/worker/queue"
	"partwright/worker/store"
)

// delivery is a job: a further attempt, the try of that number in the schedule.
type delivery struct {
	Organization string `json:"organization"`
	Webhook      string `json:"webhook"`
	Delivery     string `json:"delivery"`
	Try          int    `json:"try"`
}

// Kind implements [river.JobArgs]. It is permanent: it stands in databases.
func (delivery) Kind() string { return "deliver-webhook" }

// Why a webhook is off.
const (
	offGone    = "gone"     // the receiver answered 410
	offFailing = "failing"  // nothing was delivered for the whole of a schedule
	offByOwner = "switched" // its organization switched it off
)

func (s *Service) deliver(ctx context.Context, job *queue.Job[delivery]) error {
	a := job.Args
	return attemptAll(ctx, s, job, mailing{a.Organization, a.Webhook, []string{a.Delivery}}, a.Try)
}

// due finds a webhook and those of some deliveries to it that wait: none if it was
// deleted.
func (s *Service) due(ctx context.Context, m mailing) (w *store.Webhook, due []store.Delivery, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if w, err = store.WebhookByID(ctx, tx, m.Organization, m.Webhook); err == nil {
			due, err = store.WaitingDeliveries(ctx, tx, m.Organization, m.Webhook, m.Deliveries)
		}
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		err = nil
	}
	return w, due, err
}

func (s *Service) attempt(ctx context.Context, w *store.Webhook, d *store.Delivery) (o outcome, err error) {
	if w.Off != "" {
		o.Begun, o.Failure = s.store.Now(), "webhook-off"
	} else {
		if o, err = send(ctx, s.client, w, d, s.store.Now()); err != nil {
			return o, err
		}
		s.pace.took(w.ID, o.Took)
	}
	s.config.Metrics.attempted(o.Failure)
	return o, nil
}

// record writes an attempt that failed and what follows from it.
func (s *Service) record(ctx context.Context, tx store.Tx, a delivery, o outcome) error {
	off := ""
	d, err := store.ChangeDelivery(ctx, tx, a.Organization, a.Delivery, func(d *store.Delivery) error {
		if err := store.AddAttempt(ctx, tx, d, o.Attempt); err != nil {
			return err
		}
		wait, more := nextIn(a.Try+1, o.wait)
		switch {
		case o.gone:
			d.State, d.Next, off = store.DeliveryFailed, never, offGone
		case o.Failure == "webhook-off" || !more:
			d.State, d.Next = store.DeliveryFailed, never
			if o.Failure != "webhook-off" {
				off = offFailing
			}
		default:
			d.Next = s.store.Now().Add(wait)
			a.Try++
			return s.queue.AddAt(ctx, tx, Line, queue.Normal, d.Next, a)
		}
		return nil
	})
	if err != nil || off == "" {
		return err
	}
	if off == offFailing {
		// Others may have got through since this one was first tried.
		if delivered, err := store.DeliveredSince(ctx, tx, a.Webhook, d.Created); delivered || err != nil {
			return err
		}
	}
	_, err = store.ChangeWebhook(ctx, tx, a.Organization, a.Webhook, func(w *store.Webhook) error {
		w.Off = off
		return nil
	})
	return err
}
