package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/account"
	"partwright/worker/batch"
	"partwright/worker/store"
)

const (
	// heartbeat is the longest time without a byte on a stream of events.
	heartbeat = 15 * time.Second
	// pollInterval is how often the store is read for a batch that this process gets
	// no events of.
	pollInterval = time.Second
	// eventPage is how many events are read at once.
	eventPage = 500
)

// FollowBatch serves GET /v1/batches/{batch}/events.
func (h *handlers) FollowBatch(c *gin.Context, id BatchPath, params FollowBatchParams) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		if h.followers.Add(1) > h.config.MaxFollowers {
			h.followers.Add(-1)
			return refuse(busy, "As many clients follow batches as the service allows.")
		}
		defer h.followers.Add(-1)
		after := params.LastEventID
		watch := s.Watch(id)
		defer watch.End()
		changed := watch.Changed()
		events, more, err := s.Events(ctx, organization, id, after, eventPage)
		if err != nil {
			return err
		}
		if len(events) == 0 && !more {
			c.Status(http.StatusNoContent)
			c.Writer.WriteHeaderNow()
			return nil
		}
		c.Header("Content-Type", typeEvents)
		c.Header("Cache-Control", "no-store")
		f := &follower{last: after, handlers: h, service: s, watch: watch, organization: organization, batch: id, out: h.slowly(c), flush: c.Writer.Flush, session: h.sessionOf(c.Request)}
		f.follow(ctx, events, more, changed)
		return nil
	})
}

// follower writes the events of a batch as they come.
type follower struct {
	handlers            *handlers
	service             *batch.Service
	watch               *batch.Watch
	organization, batch string
	out                 *slow
	flush               func()
	last                int64
	// session is what the browser that follows is signed in by, "" for none.
	session string
}

func (f *follower) follow(ctx context.Context, events []store.Event, more bool, changed <-chan struct{}) {
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	if _, err := fmt.Fprint(f.out, "retry: 2000\n\n"); err != nil {
		return
	}
	for {
		if err := f.write(events); err != nil || !more && len(events) < eventPage {
			return
		}
		if len(events) < eventPage {
			select {
			case <-ctx.Done():
				return
			case <-f.handlers.stopping:
				return
			case <-changed:
			case <-time.After(pollInterval):
			case <-beat.C:
				if _, err := fmt.Fprint(f.out, ":\n\n"); err != nil {
					return
				}
				f.flush()
			}
		}
		if f.signedOut(ctx) {
			return // the client that comes back is told
		}
		changed = f.watch.Changed()
		var err error
		events, more, err = f.service.Events(ctx, f.organization, f.batch, f.last, eventPage)
		if err != nil {
			return // gone, or the database is: the client comes back
		}
	}
}

// signedOut tells whether the browser that follows was signed in, and is so no more.
func (f *follower) signedOut(ctx context.Context) bool {
	return f.session != "" && errors.Is(f.handlers.config.Accounts.Lasts(ctx, f.session), account.ErrNoSession)
}

func (f *follower) write(events []store.Event) error {
	for i := range events {
		e := &events[i]
		view := BatchEvent{State: string(e.State), At: e.Created, Scores: countsView(e.Counts)}
		for _, a := range e.Answered {
			view.Answered = append(view.Answered, AnsweredScore{Number: a.Number, State: string(a.State)})
		}
		data, err := encodeJSON(view)
		if err != nil {
			return err
		}
		// The JSON ends in a line feed and holds no other.
		text := "id: " + strconv.FormatInt(e.ID, 10) + "\nevent: " + string(e.Kind) + "\ndata: " + string(data) + "\n"
		if _, err := f.out.Write([]byte(text)); err != nil {
			return err
		}
		f.last = e.ID
	}
	f.flush()
	return nil
}
