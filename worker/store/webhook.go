package store

import (
	"context"
	"crypto/rand"
	"strings"
	"time"
)

// Webhook is an address to which an organization has events sent.
type Webhook struct {
	ID, Organization, URL string
	// Kinds are the kinds of events that are sent.
	Kinds []string
	// Secret signs what is sent; so does FormerSecret, until FormerUntil.
	Secret, FormerSecret string
	FormerUntil          time.Time
	// Off says why nothing is sent, "" if it is.
	Off     string
	Created time.Time
}

const webhookColumns = `id, organization_id, url, kinds, secret, former_secret, former_until, off_because, created`

func webhooks(ctx context.Context, tx Tx, statement string, args ...any) ([]Webhook, error) {
	var all []Webhook
	err := tx.each(ctx, func(r row) error {
		var w Webhook
		var kinds string
		var until, created int64
		err := r.Scan(&w.ID, &w.Organization, &w.URL, &kinds, &w.Secret, &w.FormerSecret, &until, &w.Off, &created)
		w.Kinds, w.FormerUntil, w.Created = strings.Fields(kinds), moment(until), moment(created)
		all = append(all, w)
		return err
	}, statement, args...)
	return all, err
}

// CreateWebhook writes a webhook and gives it an id.
func (s *Store) CreateWebhook(ctx context.Context, tx Tx, w Webhook) (*Webhook, error) {
	w.ID, w.Created = rand.Text(), moment(micros(s.now()))
	_, err := tx.exec(ctx, `INSERT INTO webhooks (`+webhookColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		w.ID, w.Organization, w.URL, strings.Join(w.Kinds, " "), w.Secret, w.FormerSecret, micros(w.FormerUntil), w.Off, micros(w.Created))
	return &w, err
}

// Webhooks lists the webhooks of an organization, the oldest first.
func Webhooks(ctx context.Context, tx Tx, organization string) ([]Webhook, error) {
	return webhooks(ctx, tx, `SELECT `+webhookColumns+` FROM webhooks WHERE organization_id = $1 ORDER BY created, id`, organization)
}

// WebhookByID finds a webhook of an organization.
func WebhookByID(ctx context.Context, tx Tx, organization, id string) (*Webhook, error) {
	return oneWebhook(webhooks(ctx, tx, `SELECT `+webhookColumns+` FROM webhooks WHERE id = $1 AND organization_id = $2`, id, organization))
}

func oneWebhook(all []Webhook, err error) (*Webhook, error) {
	if err == nil && len(all) == 0 {
		return nil, ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// ChangeWebhook finds a webhook, holds it against other changes until the
// transaction ends, and writes what f made of it.
func ChangeWebhook(ctx context.Context, tx Tx, organization, id string, f func(*Webhook) error) (*Webhook, error) {
	w, err := oneWebhook(webhooks(ctx, tx, `UPDATE webhooks SET url = url WHERE id = $1 AND organization_id = $2 RETURNING `+webhookColumns, id, organization))
	if err != nil {
		return nil, err
	}
	if err := f(w); err != nil {
		return nil, err
	}
	_, err = tx.exec(ctx, `UPDATE webhooks SET url = $1, kinds = $2, secret = $3, former_secret = $4, former_until = $5, off_because = $6 WHERE id = $7`,
		w.URL, strings.Join(w.Kinds, " "), w.Secret, w.FormerSecret, micros(w.FormerUntil), w.Off, id)
	return w, err
}

// DeleteWebhook takes a webhook away with its deliveries.
func DeleteWebhook(ctx context.Context, tx Tx, organization, id string) error {
	n, err := tx.exec(ctx, `DELETE FROM webhooks WHERE id = $1 AND organization_id = $2`, id, organization)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	return err
}
