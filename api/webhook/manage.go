package webhook

import (
	"context"
	"slices"
	"time"

	"partwright/worker/queue"
	"partwright/worker/store"
)

var never time.Time

// Create makes a webhook with a secret of its own. The error is a [*URLError] or
// [ErrTooMany].
func (s *Service) Create(ctx context.Context, organization, url string, kinds []string) (w *store.Webhook, err error) {
	if err := s.check(url); err != nil {
		return nil, err
	}
	err = s.store.Write(ctx, func(tx store.Tx) error {
		all, err := store.Webhooks(ctx, tx, organization)
		if err == nil && len(all) >= MaxWebhooks {
			err = ErrTooMany
		}
		if err != nil {
			return err
		}
		w, err = s.store.CreateWebhook(ctx, tx, store.Webhook{
			Organization: organization, URL: url, Kinds: sorted(kinds), Secret: newSecret(),
		})
		return err
	})
	return w, err
}

func (s *Service) check(url string) error {
	if err := s.guard.CheckURL(url, s.config.Plain); err != nil {
		return &URLError{err.Error()}
	}
	return nil
}

func sorted(kinds []string) []string {
	kinds = slices.Clone(kinds)
	slices.Sort(kinds)
	return slices.Compact(kinds)
}

// Change is what is to be changed of a webhook; nil leaves as it is.
type Change struct {
	URL   *string
	Kinds []string
	On    *bool
}

// Change changes a webhook. The error is a [*URLError] or [store.ErrNotFound].
func (s *Service) Change(ctx context.Context, organization, id string, c Change) (*store.Webhook, error) {
	if c.URL != nil {
		if err := s.check(*c.URL); err != nil {
			return nil, err
		}
	}
	return s.change(ctx, organization, id, func(w *store.Webhook) {
		if c.URL != nil {
			w.URL = *c.URL
		}
		if c.Kinds != nil {
			w.Kinds = sorted(c.Kinds)
		}
		switch {
		case c.On == nil:
		case *c.On:
			w.Off = ""
		case w.Off == "":
			w.Off = offByOwner
		}
	})
}

func (s *Service) change(ctx context.Context, organization, id string, f func(*store.Webhook)) (w *store.Webhook, err error) {
	err = s.store.Write(ctx, func(tx store.Tx) error {
		w, err = store.ChangeWebhook(ctx, tx, organization, id, func(w *store.Webhook) error {
			f(w)
			return nil
		})
		return err
	})
	return w, err
}

// Rotate gives a webhook a new secret; for a day the former one signs beside it.
func (s *Service) Rotate(ctx context.Context, organization, id string) (*store.Webhook, error) {
	return s.change(ctx, organization, id, func(w *store.Webhook) { rotate(w, s.store.Now()) })
}

// Delete takes a webhook away with its log.
func (s *Service) Delete(ctx context.Context, organization, id string) error {
	return s.store.Write(ctx, func(tx store.Tx) error { return store.DeleteWebhook(ctx, tx, organization, id) })
}

// List returns the webhooks of an organization, the oldest first.
func (s *Service) List(ctx context.Context, organization string) (all []store.Webhook, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		all, err = store.Webhooks(ctx, tx, organization)
		return err
	})
	return all, err
}

// Get finds a webhook.
func (s *Service) Get(ctx context.Context, organization, id string) (w *store.Webhook, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		w, err = store.WebhookByID(ctx, tx, organization, id)
		return err
	})
	return w, err
}

// Log returns a page of the deliveries to a webhook, the newest first.
func (s *Service) Log(ctx context.Context, q store.DeliveryQuery) (page []store.Delivery, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if _, err := store.WebhookByID(ctx, tx, q.Organization, q.Webhook); err != nil {
			return err
		}
		page, err = store.Deliveries(ctx, tx, q)
		return err
	})
	return page, err
}

// Delivery finds a delivery with its attempts.
func (s *Service) Delivery(ctx context.Context, organization, webhook, id string) (d *store.Delivery, attempts []store.Attempt, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if d, err = store.DeliveryByID(ctx, tx, organization, webhook, id); err == nil {
			attempts, err = store.Attempts(ctx, tx, id)
		}
		return err
	})
	return d, attempts, err
}

// Replay delivers once more what was delivered or has failed, under the same
// message id and from the start of the schedule. The error is [ErrWaiting] or
// [store.ErrNotFound].
func (s *Service) Replay(ctx context.Context, organization, webhook, id string) (d *store.Delivery, err error) {
	err = s.store.Write(ctx, func(tx store.Tx) error {
		if _, err := store.DeliveryByID(ctx, tx, organization, webhook, id); err != nil {
			return err
		}
		d, err = store.ChangeDelivery(ctx, tx, organization, id, func(d *store.Delivery) error {
			if d.State == store.DeliveryWaiting {
				return ErrWaiting
			}
			d.State, d.Next = store.DeliveryWaiting, s.store.Now()
			return s.queue.Add(ctx, tx, organization, Line, queue.Normal, delivery{organization, webhook, id, 0})
		})
		return err
	})
	return d, err
}
