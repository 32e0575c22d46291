// Package webhook sends organizations events by the Standard Webhooks
// specification 1.0.0: signed, tried again over three days, and never into the
// network of whoever operates the service. Begin with [New].
//
// A message is written in the transaction of what happened, as a job of
// the durable queue; nothing is lost with a process, and a receiver may get it
// twice, under the same message id.
package webhook

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"time"

	"github.com/riverqueue/river"

	"partwright/api/outgoing"
	"partwright/worker/queue"
	"partwright/worker/store"
)

// Line is where the jobs of webhooks wait.
const Line = "webhooks"

// keepLog is how long a delivery is kept in the log.
const keepLog = 30 * 24 * time.Hour

// MaxWebhooks is how many an organization may have.
const MaxWebhooks = 20

// Errors of a service, beside [store.ErrNotFound].
var (
	ErrTooMany = fmt.Errorf("an organization may have %d webhooks", MaxWebhooks)
	ErrWaiting = errors.New("the delivery still waits for its next attempt")
)

// URLError is returned for an address that cannot be sent to.
type URLError struct{ Problem string }

// Error implements error.
func (e *URLError) Error() string { return e.Problem }

// Config configures a [Service].
type Config struct {
	Store *store.Store
	// Allowed are blocks of addresses inside the operator's network to which may
	// be sent all the same.
	Allowed []netip.Prefix
	// Plain lets addresses begin with http:// too.
	Plain bool
	// Workers is how many jobs of [Line] this process runs at once (default 1). A
	// receiver that is slow gets a quarter of them, and one at least.
	Workers int
	// Resolver is nil for that of the system.
	Resolver *net.Resolver
	// Metrics and Logger may be nil.
	Metrics *Metrics
	Logger  *slog.Logger
}

// Service keeps webhooks and sends to them. It is safe for concurrent use.
type Service struct {
	config Config
	store  *store.Store
	guard  outgoing.Guard
	client *http.Client
	logger *slog.Logger
	queue  *queue.Queue
	pace   pace
}

// New returns a service that is notified of every change to a batch in the store.
// [Service.Handle] and [Service.Use] must follow before there is any.
func New(c Config) *Service {
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	g := outgoing.Guard{Allowed: c.Allowed}
	s := &Service{config: c, store: c.Store, guard: g, client: outgoing.NewClient(g, c.Resolver, attemptTime), logger: c.Logger, pace: newPace(c.Workers)}
	s.store.Announce(s.announce)
	return s
}

// Handle makes deliveries one of the kinds of jobs that a process works on.
func (s *Service) Handle(kinds *queue.Kinds) {
	queue.Handle(kinds, s.deliver)
	queue.Handle(kinds, s.mail)
}

// Use sets the queue that deliveries go through.
func (s *Service) Use(q *queue.Queue) { s.queue = q }

// Run forgets old deliveries from time to time until ctx is done.
func (s *Service) Run(ctx context.Context) {
	for {
		err := s.store.Write(ctx, func(tx store.Tx) error {
			_, err := store.ForgetDeliveries(ctx, tx, s.store.Now().Add(-keepLog))
			return err
		})
		if err != nil && ctx.Err() == nil {
			s.logger.WarnContext(ctx, "old deliveries could not be deleted", "error", err.Error())
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(time.Hour):
		}
	}
}

// announce writes deliveries of what happened to a batch, with their jobs.
func (s *Service) announce(ctx context.Context, tx store.Tx, b *store.Batch, events []store.Event, answered []store.Answered) error {
	return s.tell(ctx, tx, b.Organization, func(wanted func(kind string) bool) []message {
		return messages(b, events, answered, wanted, s.store.Now())
	})
}

// Tell sends events to the webhooks of an organization that want them. It belongs into the
// transaction of what happened.
func (s *Service) Tell(ctx context.Context, tx store.Tx, organization string, events ...Event) error {
	return s.tell(ctx, tx, organization, func(wanted func(kind string) bool) []message {
		return messagesOf(events, wanted, s.store.Now())
	})
}

// tell writes deliveries of messages, with their jobs.
func (s *Service) tell(ctx context.Context, tx store.Tx, organization string, about func(wanted func(kind string) bool) []message) error {
	all, err := store.Webhooks(ctx, tx, organization)
	if err != nil || len(all) == 0 {
		return err
	}
	mail := about(anyWants(all))
	payloads := make([]string, len(mail))
	for i, m := range mail {
		if payloads[i], err = m.payload(); err != nil {
			return err
		}
	}
	var jobs []river.JobArgs
	for i := range all {
		var due []store.Delivery
		for j, m := range mail {
			if wants(&all[i], m.Type) {
				due = append(due, store.Delivery{
					Webhook: all[i].ID, Organization: organization, Message: m.id, Kind: m.Type, Payload: payloads[j],
				})
			}
		}
		if err := s.store.CreateDeliveries(ctx, tx, due); err != nil {
			return err
		}
		for some := range slices.Chunk(due, mostAtOnce) {
			jobs = append(jobs, newMailing(some))
		}
	}
	return s.queue.Add(ctx, tx, organization, Line, queue.Normal, jobs...)
}
