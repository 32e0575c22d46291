package store

import (
	"context"
	"crypto/rand"
	"slices"
	"strconv"
	"strings"
	"time"
)

// DeliveryState is what became of a delivery.
type DeliveryState string

// A delivery waits for its next attempt until one succeeds or none is left.
const (
	DeliveryWaiting   DeliveryState = "waiting"
	DeliveryDelivered DeliveryState = "delivered"
	DeliveryFailed    DeliveryState = "failed"
)

// Delivery is a message on its way to a webhook.
type Delivery struct {
	ID, Webhook, Organization string
	// Message is the same for all webhooks that receive one event, and for
	// every attempt.
	Message string
	// Kind is that of the event; Payload is what is sent, byte for byte.
	Kind, Payload string
	State         DeliveryState
	// Attempts counts those made; Next is when the next is due, zero for none.
	Attempts      int64
	Next, Created time.Time
}

const deliveryColumns = `id, webhook_id, organization_id, message_id, kind, payload, state, attempts, next_attempt, created`

func deliveries(ctx context.Context, tx Tx, statement string, args ...any) ([]Delivery, error) {
	var all []Delivery
	err := tx.each(ctx, func(r row) error {
		var d Delivery
		var next, created int64
		err := r.Scan(&d.ID, &d.Webhook, &d.Organization, &d.Message, &d.Kind, &d.Payload, &d.State, &d.Attempts, &next, &created)
		d.Next, d.Created = moment(next), moment(created)
		all = append(all, d)
		return err
	}, statement, args...)
	return all, err
}

func oneDelivery(all []Delivery, err error) (*Delivery, error) {
	if err == nil && len(all) == 0 {
		return nil, ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// CreateDeliveries writes deliveries that wait, and gives each an id.
func (s *Store) CreateDeliveries(ctx context.Context, tx Tx, all []Delivery) error {
	rows := make([][]any, len(all))
	for i := range all {
		d := &all[i]
		d.ID, d.State, d.Created = rand.Text(), DeliveryWaiting, moment(micros(s.now()))
		d.Next = d.Created
		rows[i] = []any{d.ID, d.Webhook, d.Organization, d.Message, d.Kind, d.Payload, string(d.State), micros(d.Next), micros(d.Created)}
	}
	_, err := tx.many(ctx, `INSERT INTO deliveries (`+deliveryColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, 0, $8, $9)`, rows)
	return err
}

// DeliveryByID finds a delivery of a webhook of an organization.
func DeliveryByID(ctx context.Context, tx Tx, organization, webhook, id string) (*Delivery, error) {
	return oneDelivery(deliveries(ctx, tx, `SELECT `+deliveryColumns+` FROM deliveries
		WHERE id = $1 AND webhook_id = $2 AND organization_id = $3`, id, webhook, organization))
}

// WaitingDeliveries finds those of some deliveries of a webhook that still wait, in
// the order of the ids.
func WaitingDeliveries(ctx context.Context, tx Tx, organization, webhook string, ids []string) ([]Delivery, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	args := []any{organization, webhook}
	places := make([]string, len(ids))
	for i, id := range ids {
		args = append(args, id)
		places[i] = "$" + strconv.Itoa(len(args))
	}
	all, err := deliveries(ctx, tx, `SELECT `+deliveryColumns+` FROM deliveries WHERE organization_id = $1 AND webhook_id = $2
		AND state = 'waiting' AND id IN (`+strings.Join(places, ", ")+`)`, args...)
	slices.SortFunc(all, func(a, b Delivery) int { return slices.Index(ids, a.ID) - slices.Index(ids, b.ID) })
	return all, err
}

// DeliveryQuery chooses deliveries of a webhook, the newest first.
type DeliveryQuery struct {
	Organization, Webhook string
	// State is "" for all.
	State DeliveryState
	// After is the id that the last page ended with, "" for the first page.
	After string
	Limit int
}

// Deliveries returns a page.
func Deliveries(ctx context.Context, tx Tx, q DeliveryQuery) ([]Delivery, error) {
	return deliveries(ctx, tx, `SELECT `+deliveryColumns+` FROM deliveries
		WHERE webhook_id = $1 AND organization_id = $2 AND ($3 = '' OR state = $3)
		AND ($4 = '' OR (created, id) < (SELECT d.created, d.id FROM deliveries d WHERE d.id = $4 AND d.webhook_id = $1))
		ORDER BY created DESC, id DESC LIMIT $5`, q.Webhook, q.Organization, string(q.State), q.After, q.Limit)
}

// ChangeDelivery finds a delivery, holds it against other changes until the
// transaction ends, and writes the state and next attempt that f left.
func ChangeDelivery(ctx context.Context, tx Tx, organization, id string, f func(*Delivery) error) (*Delivery, error) {
	d, err := oneDelivery(deliveries(ctx, tx, `UPDATE deliveries SET state = state WHERE id = $1 AND organization_id = $2 RETURNING `+deliveryColumns, id, organization))
	if err != nil {
		return nil, err
	}
	if err := f(d); err != nil {
		return nil, err
	}
	_, err = tx.exec(ctx, `UPDATE deliveries SET state = $1, attempts = $2, next_attempt = $3 WHERE id = $4`,
		string(d.State), d.Attempts, micros(d.Next), id)
	return d, err
}

// Attempt is one try to deliver.
type Attempt struct {
	Number int64
	Begun  time.Time
	Took   time.Duration
	// Status is that of the answer, 0 for none.
	Status int
	// Failure says in a word why the attempt failed, "" if it did not.
	Failure string
}

// AddAttempt writes an attempt to a delivery that is being changed.
func AddAttempt(ctx context.Context, tx Tx, d *Delivery, a Attempt) error {
	d.Attempts++
	_, err := tx.exec(ctx, `INSERT INTO attempts (delivery_id, number, begun, took, status, failure) VALUES ($1, $2, $3, $4, $5, $6)`,
		d.ID, d.Attempts, micros(a.Begun), a.Took.Microseconds(), int64(a.Status), a.Failure)
	return err
}

// Success is an attempt at a delivery that got through.
type Success struct {
	Delivery string
	Attempt
}

// SaveSuccesses writes such attempts and ends their deliveries. It passes over those
// that were deleted meanwhile.
func SaveSuccesses(ctx context.Context, tx Tx, organization string, all []Success) error {
	ends, attempts := make([][]any, len(all)), make([][]any, len(all))
	for i, a := range all {
		ends[i] = []any{a.Delivery, organization}
		attempts[i] = []any{a.Delivery, organization, micros(a.Begun), a.Took.Microseconds(), int64(a.Status)}
	}
	_, err := tx.many(ctx, `UPDATE deliveries SET state = 'delivered', attempts = attempts + 1, next_attempt = 0
		WHERE id = $1 AND organization_id = $2`, ends)
	if err != nil {
		return err
	}
	_, err = tx.many(ctx, `INSERT INTO attempts (delivery_id, number, begun, took, status, failure)
		SELECT id, attempts, CAST($3 AS BIGINT), CAST($4 AS BIGINT), CAST($5 AS BIGINT), '' FROM deliveries
		WHERE id = $1 AND organization_id = $2`, attempts)
	return err
}

// Attempts lists the attempts of a delivery in order.
func Attempts(ctx context.Context, tx Tx, delivery string) ([]Attempt, error) {
	var all []Attempt
	err := tx.each(ctx, func(r row) error {
		var a Attempt
		var begun, took, status int64
		err := r.Scan(&a.Number, &begun, &took, &status, &a.Failure)
		a.Begun, a.Took, a.Status = moment(begun), time.Duration(took)*time.Microsecond, int(status)
		all = append(all, a)
		return err
	}, `SELECT number, begun, took, status, failure FROM attempts WHERE delivery_id = $1 ORDER BY number`, delivery)
	return all, err
}

// DeliveredSince tells whether anything was delivered to a webhook since a moment.
func DeliveredSince(ctx context.Context, tx Tx, webhook string, since time.Time) (bool, error) {
	var n int64
	err := one(ctx, tx, []any{&n}, `SELECT count(*) FROM deliveries d WHERE d.webhook_id = $1 AND EXISTS (
		SELECT 1 FROM attempts a WHERE a.delivery_id = d.id AND a.failure = '' AND a.begun >= $2)`, webhook, micros(since))
	return n > 0, err
}

// ForgetDeliveries takes away the deliveries of before a moment that wait for
// nothing.
func ForgetDeliveries(ctx context.Context, tx Tx, before time.Time) (int64, error) {
	return tx.exec(ctx, `DELETE FROM deliveries WHERE created < $1 AND state <> 'waiting'`, micros(before))
}
