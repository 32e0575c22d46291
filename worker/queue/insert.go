package queue

import (
	"context"
	"fmt"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"partwright/worker/store"
)

// Sized is a job that takes as much work as so many of others; a job that does not
// say takes as much as one.
type Sized interface{ Size() int64 }

func sizeOf(job river.JobArgs) int64 {
	if s, ok := job.(Sized); ok {
		return max(s.Size(), 1)
	}
	return 1
}

// Add puts jobs of an organization in a line, in the transaction of what they are
// for. Organizations take turns within a priority, however many jobs each has and
// however large they are; those of one organization keep their order.
func (q *Queue) Add(ctx context.Context, tx store.Tx, organization, line string, p Priority, jobs ...river.JobArgs) error {
	if len(jobs) == 0 {
		return nil
	}
	var size int64
	for _, job := range jobs {
		size += sizeOf(job)
	}
	turn, err := q.takeTurns(ctx, tx, organization, line, p, size)
	if err != nil {
		return fmt.Errorf("adding jobs: %w", err)
	}
	params := make([]river.InsertManyParams, 0, len(jobs))
	for _, job := range jobs {
		turn += sizeOf(job) // the last of those that it takes
		params = append(params, river.InsertManyParams{Args: job, InsertOpts: &river.InsertOpts{
			Queue: line, Priority: int(p), ScheduledAt: atTurn(turn),
		}})
	}
	if err := q.client.insert(ctx, tx, params); err != nil {
		return fmt.Errorf("adding jobs: %w", err)
	}
	return nil
}

// AddAt puts a job in a line that is to begin at a moment to come. It takes no
// turn: once it is due it is behind those that have one.
func (q *Queue) AddAt(ctx context.Context, tx store.Tx, line string, p Priority, at time.Time, job river.JobArgs) error {
	err := q.client.insert(ctx, tx, []river.InsertManyParams{{Args: job, InsertOpts: &river.InsertOpts{
		Queue: line, Priority: int(p), ScheduledAt: at,
	}}})
	if err != nil {
		return fmt.Errorf("adding a job: %w", err)
	}
	return nil
}

// A turn is a number: among jobs of one priority, the lowest begins. It stands in
// the column by which River orders jobs, as milliseconds after this moment, long
// gone, so that no job waits for it.
var turnZero = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)

func atTurn(turn int64) time.Time { return turnZero.Add(time.Duration(turn) * time.Millisecond) }

// turns lets a job begin at once although it was given a moment: that is a turn.
type turns struct{ river.HookDefaults }

// InsertBegin implements [rivertype.HookInsertBegin].
func (*turns) InsertBegin(_ context.Context, job *rivertype.JobInsertParams) error {
	if job.ScheduledAt != nil && job.ScheduledAt.Before(time.Now()) {
		job.State = rivertype.JobStateAvailable
	}
	return nil
}

// takeTurns gives an organization n turns in a row after those it has, and not
// before the one that is on now: self-clocked fair queueing (S. J. Golestani,
// IEEE INFOCOM 1994). It returns the turn before them.
func (q *Queue) takeTurns(ctx context.Context, tx store.Tx, organization, line string, p Priority, n int64) (before int64, err error) {
	now, err := q.turnNow(ctx, tx, line, p)
	if err != nil {
		return 0, err
	}
	last, err := store.TakeTurns(ctx, tx, organization, line, int(p), now, n)
	return last - n, err
}

// turnNow is the lowest turn that waits or runs; if there is none, the last that
// was given out. A job that failed carries the time of its next try, which is
// later than any turn.
func (q *Queue) turnNow(ctx context.Context, tx store.Tx, line string, p Priority) (int64, error) {
	last, err := store.LastTurn(ctx, tx, line, int(p))
	if err != nil {
		return 0, err
	}
	now := last
	err = store.Each(ctx, tx, func(scan store.Scan) error {
		var lowest *int64
		err := scan(&lowest)
		if lowest != nil {
			now = min(last, *lowest-turnZero.UnixMilli())
		}
		return err
	}, q.client.dialect().lowestTurn, line, int(p))
	return now, err
}
