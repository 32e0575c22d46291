// Package gradebook tells others of marks: webhooks of what was handed in, released, changed
// and taken back. Begin with [New].
//
// All is told in the transaction of what happened, through the durable queue: nothing is
// lost with a process, and nothing is told that did not happen.
package gradebook

import (
	"context"

	"partwright/api/webhook"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/store"
)

// Book tells of marks.
type Book struct {
	webhooks *webhook.Service
}

// New returns a book that tells webhooks.
func New(w *webhook.Service) *Book { return &Book{webhooks: w} }

// Keep makes a book be told of all that changes in a class book.
func (b *Book) Keep(s *classbook.Service) { s.Tell = b.tell }

// markEvent is what a receiver learns: where to ask, and nothing of a person.
type markEvent struct {
	Assignment string `json:"assignment"`
	Reference  string `json:"reference"`
	Attempt    int    `json:"attempt"`
}

func (b *Book) tell(ctx context.Context, tx store.Tx, c *classbook.Change) error {
	var events []webhook.Event
	for i := range c.Marks {
		m := &c.Marks[i]
		if kind := kindOf(c.Do, m); kind != "" {
			events = append(events, webhook.Event{Kind: kind, Data: markEvent{c.Assignment.ID, m.Now.Reference, m.Now.Attempt}})
		}
	}
	if len(events) == 0 {
		return nil
	}
	return b.webhooks.Tell(ctx, tx, c.Organization, events...)
}

// kindOf says what is told of a change, "" for nothing.
func kindOf(do classroom.Action, m *classbook.MarkChange) string {
	before, now := m.Before != nil && m.Before.Released, m.Now != nil && m.Now.Released
	switch {
	case m.Now == nil:
		return ""
	case do == "":
		return webhook.HandInMarked
	case now && !before:
		return webhook.MarkReleased
	case before && !now:
		return webhook.MarkTakenBack
	case now && (m.Before.Attempt != m.Now.Attempt || !same(m.Before.Mark, m.Now.Mark)):
		return webhook.MarkChanged
	}
	return ""
}

func same(a, b *classroom.Points) bool { return (a == nil) == (b == nil) && (a == nil || *a == *b) }
