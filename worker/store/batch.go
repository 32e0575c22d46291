package store

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"time"
)

// BatchState is how far a batch is.
type BatchState string

// A batch is open while scores may be added, closed while the rest is worked off,
// then finished. Canceled, it can be taken up again.
const (
	BatchOpen     BatchState = "open"
	BatchClosed   BatchState = "closed"
	BatchFinished BatchState = "finished"
	BatchCanceled BatchState = "canceled"
)

// Counts count the members of a batch by state; Total is their sum.
type Counts struct {
	Total, Waiting, Done, Failed, Canceled int64
}

// Batch is a number of scores that get the same treatment.
type Batch struct {
	ID, Organization string
	State            BatchState
	// Options is a JSON object that means something to whoever does the work.
	Options json.RawMessage
	// Closed and Finished are zero until then.
	Created, Closed, Finished time.Time
	// Receiver is the worker that still adds the scores of an upload; "" once all
	// are there. Without that worker the batch is to be deleted.
	Receiver string
	// Skipped counts the files that came with the scores and are none.
	Skipped int64
	// Bytes is what is stored of the scores and their results, compressed; a score
	// that several batches share counts in each.
	Bytes int64
	// Last is the number that a member was given last; those of deleted members are
	// not given again.
	Last int64
	// Searched says that every answer has its rows; see [Find].
	Searched bool
	// Started is when work on the first score began, zero until it has an answer; Worked
	// is how long all took together, and Slowest the longest of them, number
	// SlowestNumber.
	Started         time.Time
	Worked, Slowest time.Duration
	SlowestNumber   int64
	// JustStarted and JustFinished are set by the [Store.Change] that made the batch so.
	JustStarted, JustFinished bool
	Counts

	lastEvent int64
	events    []Event // to be written with the batch
	answered  []Answered
}

const batchColumns = `id, organization_id, state, options, created, closed, finished,
	total, waiting, done, failed, canceled, last_event, receiver, skipped, bytes, last_number, searched,
	started, worked, slowest, slowest_number`

func scanBatch(r row, b *Batch) error {
	var options string
	var created, closed, finished, searched, started, worked, slowest int64
	err := r.Scan(&b.ID, &b.Organization, &b.State, &options, &created, &closed, &finished,
		&b.Total, &b.Waiting, &b.Done, &b.Failed, &b.Canceled, &b.lastEvent, &b.Receiver, &b.Skipped, &b.Bytes, &b.Last, &searched,
		&started, &worked, &slowest, &b.SlowestNumber)
	b.Options, b.Searched = json.RawMessage(options), searched != 0
	b.Created, b.Closed, b.Finished, b.Started = moment(created), moment(closed), moment(finished), moment(started)
	b.Worked, b.Slowest = time.Duration(worked)*time.Microsecond, time.Duration(slowest)*time.Microsecond
	return err
}

// moment reads a time of the database: microseconds since 1970, 0 for never.
func moment(micros int64) time.Time {
	if micros == 0 {
		return time.Time{}
	}
	return time.UnixMicro(micros).UTC()
}

func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

// CreateBatch writes an open batch without scores.
func (s *Store) CreateBatch(ctx context.Context, tx Tx, organization string, options json.RawMessage) (*Batch, error) {
	return s.CreateUpload(ctx, tx, organization, "", options)
}

// CreateUpload writes an open batch whose scores a receiver goes on to add; see
// [Batch]. The error is a [*QuotaError] if the organization may have no more.
func (s *Store) CreateUpload(ctx context.Context, tx Tx, organization, receiver string, options json.RawMessage) (*Batch, error) {
	b := &Batch{
		ID: rand.Text(), Organization: organization, State: BatchOpen, Options: options, Receiver: receiver, Searched: true,
		Created: moment(micros(s.now())),
	}
	if err := admit(ctx, tx, b); err != nil {
		return nil, err
	}
	_, err := tx.exec(ctx, `INSERT INTO batches (id, organization_id, state, options, created, receiver, searched) VALUES ($1, $2, $3, $4, $5, $6, 1)`,
		b.ID, b.Organization, string(b.State), string(options), micros(b.Created), b.Receiver)
	return b, err
}

// Changes counts what has happened to the batch; while it stays the same, so does what is
// in a finished batch.
func (b *Batch) Changes() int64 { return b.lastEvent }

// BatchByID finds a batch of an organization.
func BatchByID(ctx context.Context, tx Tx, organization, id string) (*Batch, error) {
	return findBatch(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE id = $1 AND organization_id = $2 AND deleted = 0`, id, organization)
}

func findBatch(ctx context.Context, tx Tx, statement string, args ...any) (*Batch, error) {
	var b *Batch
	err := tx.each(ctx, func(r row) error {
		b = &Batch{}
		return scanBatch(r, b)
	}, statement, args...)
	if err == nil && b == nil {
		return nil, ErrNotFound
	}
	return b, err
}

func listBatches(ctx context.Context, tx Tx, statement string, args ...any) ([]*Batch, error) {
	var all []*Batch
	err := tx.each(ctx, func(r row) error {
		b := &Batch{}
		all = append(all, b)
		return scanBatch(r, b)
	}, statement, args...)
	return all, err
}

// Batches returns batches of an organization, the newest first and at most limit: of
// those that come after a batch, where one is named.
func Batches(ctx context.Context, tx Tx, organization, after string, limit int) ([]*Batch, error) {
	if after == "" {
		return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE organization_id = $1 AND deleted = 0
			ORDER BY created DESC, id DESC LIMIT $2`, organization, limit)
	}
	b, err := BatchByID(ctx, tx, organization, after)
	if err != nil {
		return nil, err
	}
	return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE organization_id = $1 AND deleted = 0 AND (created, id) < ($2, $3)
		ORDER BY created DESC, id DESC LIMIT $4`, organization, micros(b.Created), b.ID, limit)
}

// AbandonedBatches finds the batches whose upload ended with its worker: one that
// was not seen since a moment, in microseconds since 1970.
func AbandonedBatches(ctx context.Context, tx Tx, seen int64) ([]*Batch, error) {
	return listBatches(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE deleted = 0 AND receiver <> '' AND NOT EXISTS (
		SELECT 1 FROM workers w WHERE w.id = batches.receiver AND w.seen >= $1)`, seen)
}

// Change finds a batch, holds it against other changes until the transaction
// ends, and writes what f made of it. A closed batch in which nothing waits any
// more is finished then.
func (s *Store) Change(ctx context.Context, tx Tx, organization, id string, f func(*Batch) error) (*Batch, error) {
	// An update that changes nothing locks the row in either database.
	b, err := findBatch(ctx, tx, `UPDATE batches SET state = state WHERE id = $1 AND organization_id = $2 AND deleted = 0 RETURNING `+batchColumns, id, organization)
	if err != nil {
		return nil, err
	}
	waited := b.Started.IsZero()
	if err := f(b); err != nil {
		return nil, err
	}
	b.JustStarted = waited && !b.Started.IsZero()
	if b.State == BatchClosed && b.Waiting == 0 {
		b.State, b.Finished, b.JustFinished = BatchFinished, moment(micros(s.now())), true
		b.Tell(EventFinished)
		if err := b.checkSearched(ctx, tx); err != nil {
			return nil, err
		}
	}
	_, err = tx.exec(ctx, `UPDATE batches SET state = $1, closed = $2, finished = $3,
			total = $4, waiting = $5, done = $6, failed = $7, canceled = $8, last_event = $9,
			receiver = $10, skipped = $11, bytes = $12, last_number = $13, searched = $14,
			started = $15, worked = $16, slowest = $17, slowest_number = $18
		WHERE id = $19`,
		string(b.State), micros(b.Closed), micros(b.Finished),
		b.Total, b.Waiting, b.Done, b.Failed, b.Canceled, b.lastEvent,
		b.Receiver, b.Skipped, b.Bytes, b.Last, oneIf(b.Searched),
		micros(b.Started), b.Worked.Microseconds(), b.Slowest.Microseconds(), b.SlowestNumber, b.ID)
	if err != nil {
		return nil, err
	}
	return b, s.writeEvents(ctx, tx, b)
}
