package queue

import (
	"context"
	"time"

	"partwright/worker/store"
)

// Beat writes that this process is alive, and so tells whether the database takes
// writes.
func (q *Queue) Beat(ctx context.Context) error {
	return q.store.Write(ctx, func(tx store.Tx) error { return q.store.Beat(ctx, tx, q.id) })
}

// live says that this process is alive, and brings back the jobs of those that no
// longer say so, until ctx is done.
func (q *Queue) live(ctx context.Context) {
	defer close(q.beats)
	tick := time.NewTicker(q.config.Heartbeat)
	defer tick.Stop()
	last, cutOff := time.Now(), time.Time{} // Start has just written
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		err := q.Beat(ctx)
		if err == nil {
			if time.Since(last) > q.config.Dead/2 {
				cutOff = time.Now()
			}
			last = time.Now()
		}
		if err == nil && len(q.config.Workers) > 0 {
			err = q.requeueLost(ctx)
		}
		// Who was cut off from the database does not know who else was: all of them
		// have time to say that they live.
		if err == nil && q.shared() && time.Since(cutOff) > q.config.Dead {
			err = q.sweep(ctx)
		}
		if err != nil && ctx.Err() == nil {
			q.logger.WarnContext(ctx, "a heartbeat failed", "error", err.Error())
		}
	}
}

// shared tells whether other processes may have the same store open.
func (q *Queue) shared() bool { return q.store.SQLite() == nil }

// sweepAtStart brings back what was interrupted: on SQLite every job that was
// running, since no other process can run it, or lives.
func (q *Queue) sweepAtStart(ctx context.Context) error {
	if q.shared() {
		return q.sweep(ctx)
	}
	return q.store.Write(ctx, func(tx store.Tx) error {
		if err := store.LeaveAlone(ctx, tx, q.id); err != nil {
			return err
		}
		n, err := store.Exec(ctx, tx, q.client.dialect().sweep)
		q.logRequeued(ctx, n)
		return err
	})
}

func (q *Queue) sweep(ctx context.Context) error {
	return q.store.Write(ctx, func(tx store.Tx) error {
		since, err := q.store.SeenSince(ctx, tx, q.config.Dead)
		if err != nil {
			return err
		}
		n, err := store.Exec(ctx, tx, q.client.dialect().sweep, since)
		q.logRequeued(ctx, n)
		return err
	})
}

// logRequeued logs how many jobs were brought back.
func (q *Queue) logRequeued(ctx context.Context, n int64) {
	if n > 0 {
		q.logger.InfoContext(ctx, "interrupted jobs are taken up again", "jobs", n)
	}
}

// Backlog is what is not done yet of one priority in a line.
type Backlog struct {
	Line     string
	Priority Priority
	Jobs     int64
	// Oldest is how long ago the oldest was added.
	Oldest time.Duration
}

// Backlogs returns those that are not empty.
func (q *Queue) Backlogs(ctx context.Context) ([]Backlog, error) {
	var all []Backlog
	err := q.store.Read(ctx, func(tx store.Tx) error {
		all = nil
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var b Backlog
			var seconds float64
			if err := scan(&b.Line, &b.Priority, &b.Jobs, &seconds); err != nil {
				return err
			}
			b.Oldest = time.Duration(seconds * float64(time.Second))
			all = append(all, b)
			return nil
		}, q.client.dialect().waiting)
	})
	return all, err
}
