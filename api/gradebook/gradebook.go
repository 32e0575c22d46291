// Package gradebook tells others of marks: webhooks of what was handed in, released, changed
// and taken back, and the gradebooks of learning systems, for which it keeps which of their
// links opens which assignment. Begin with [New].
//
// All is told in the transaction of what happened, through the durable queue: nothing is
// lost with a process, and nothing is told that did not happen.
package gradebook

import (
	"context"

	"partwright/api/lti"
	"partwright/api/webhook"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/store"
)

// Config says who is told.
type Config struct {
	Store   *store.Store
	Classes *classbook.Service
	// Webhooks is nil for none.
	Webhooks *webhook.Service
	// Tool and Publisher are nil for a service that knows no learning systems.
	Tool      *lti.Tool
	Publisher *lti.Publisher
}

// Book tells of marks. It is safe for concurrent use.
type Book struct{ Config }

// New returns a book that is told of all that changes in the classes from now on.
func New(c Config) *Book {
	b := &Book{c}
	c.Classes.Tell, c.Classes.Forgotten = b.tell, b.forget
	if c.Tool != nil {
		c.Tool.Opens = b.opens
	}
	return b
}

func (b *Book) tell(ctx context.Context, tx store.Tx, c *classbook.Change) error {
	if b.Webhooks != nil {
		if events := eventsOf(c); len(events) > 0 {
			if err := b.Webhooks.Tell(ctx, tx, c.Organization, events...); err != nil {
				return err
			}
		}
	}
	if b.Publisher == nil {
		return nil
	}
	return b.publish(ctx, tx, c)
}

// forget lets go of what ties a reference to a learning system.
func (b *Book) forget(ctx context.Context, tx store.Tx, _, assignment, reference string) error {
	return store.ForgetLTIReference(ctx, tx, assignment, reference)
}

// markEvent is what a receiver learns: where to ask, and nothing of a person.
type markEvent struct {
	Assignment string `json:"assignment"`
	Reference  string `json:"reference"`
	Attempt    int    `json:"attempt"`
}

func eventsOf(c *classbook.Change) []webhook.Event {
	var events []webhook.Event
	for i := range c.Marks {
		m := &c.Marks[i]
		if kind := kindOf(c.Do, m); kind != "" {
			events = append(events, webhook.Event{Kind: kind, Data: markEvent{c.Assignment.ID, m.Now.Reference, m.Now.Attempt}})
		}
	}
	return events
}

// kindOf says what is told of a change, "" for nothing.
func kindOf(do classroom.Action, m *classbook.MarkChange) string {
	before, now := final(m.Before), final(m.Now)
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

// final reports whether there is a mark that a teacher has released.
func final(o *classroom.Outcome) bool { return o != nil && o.Released && o.Mark != nil }

func same(a, b *classroom.Points) bool { return (a == nil) == (b == nil) && (a == nil || *a == *b) }
