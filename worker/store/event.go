package store

import (
	"context"
	"encoding/json"
	"slices"
	"time"
)

// EventKind says what happened to a batch. A kind is permanent.
type EventKind string

// The kinds of events.
const (
	EventAdded    EventKind = "scores-added"
	EventAnswered EventKind = "scores-answered"
	EventClosed   EventKind = "batch-closed"
	EventFinished EventKind = "batch-finished"
	EventCanceled EventKind = "batch-canceled"
	EventResumed  EventKind = "batch-resumed"
	EventRetried  EventKind = "failed-retried"
	EventDeleted  EventKind = "score-deleted"
)

// Event is something that happened to a batch. Ids count from 1 within the batch
// and have no gaps, so that a reader can go on after the last one seen.
type Event struct {
	ID      int64
	Kind    EventKind
	State   BatchState
	Counts  Counts
	Created time.Time
	// Answered are the members that got an answer, in an event of that kind; one that an
	// earlier version wrote has none.
	Answered []Answered
}

// Answered is a member that got an answer.
type Answered struct {
	Number int64       `json:"number"`
	State  MemberState `json:"state"`
}

// Announcer gets, in the transaction of a change to a batch, what happened to
// it and which of its members were answered.
type Announcer func(ctx context.Context, tx Tx, b *Batch, events []Event, answered []Answered) error

// Announce sets who hears of changes, before there are any.
func (s *Store) Announce(a Announcer) { s.announce = a }

// eventData is how the data of an event is kept.
type eventData struct {
	State    BatchState `json:"state"`
	Total    int64      `json:"total"`
	Waiting  int64      `json:"waiting"`
	Done     int64      `json:"done"`
	Failed   int64      `json:"failed"`
	Canceled int64      `json:"canceled"`
	Answered []Answered `json:"answered,omitempty"`
}

// Tell adds an event with the counts as they are now; [Store.Change] writes it.
func (b *Batch) Tell(kind EventKind) {
	b.lastEvent++
	e := Event{ID: b.lastEvent, Kind: kind, State: b.State, Counts: b.Counts}
	if kind == EventAnswered {
		e.Answered = slices.Clone(b.answered)
	}
	b.events = append(b.events, e)
}

func (s *Store) writeEvents(ctx context.Context, tx Tx, b *Batch) error {
	if s.announce != nil && len(b.events)+len(b.answered) > 0 {
		if err := s.announce(ctx, tx, b, b.events, b.answered); err != nil {
			return err
		}
	}
	for _, e := range b.events {
		data, err := json.Marshal(eventData{e.State, e.Counts.Total, e.Counts.Waiting, e.Counts.Done, e.Counts.Failed, e.Counts.Canceled, e.Answered})
		if err != nil {
			return err
		}
		_, err = tx.exec(ctx, `INSERT INTO events (batch_id, id, organization_id, kind, data, created) VALUES ($1, $2, $3, $4, $5, $6)`,
			b.ID, e.ID, b.Organization, string(e.Kind), string(data), micros(s.now()))
		if err != nil {
			return err
		}
	}
	b.events, b.answered = nil, nil
	return nil
}

// Events returns the events of a batch after one, in order, at most limit.
func Events(ctx context.Context, tx Tx, organization, batch string, after int64, limit int) ([]Event, error) {
	var all []Event
	err := tx.each(ctx, func(r row) error {
		var e Event
		var data string
		var created int64
		if err := r.Scan(&e.ID, &e.Kind, &data, &created); err != nil {
			return err
		}
		var t eventData
		if err := json.Unmarshal([]byte(data), &t); err != nil {
			return err
		}
		e.State, e.Answered, e.Created = t.State, t.Answered, moment(created)
		e.Counts = Counts{Total: t.Total, Waiting: t.Waiting, Done: t.Done, Failed: t.Failed, Canceled: t.Canceled}
		all = append(all, e)
		return nil
	}, `SELECT id, kind, data, created FROM events
		WHERE batch_id = $1 AND organization_id = $2 AND id > $3 ORDER BY id LIMIT $4`, batch, organization, after, limit)
	return all, err
}
