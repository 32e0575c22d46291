package store

import (
	"context"
	"time"
)

// Beat notes that a worker is alive. A single clock counts: that of the database
// where several machines share one, our own otherwise.
func (s *Store) Beat(ctx context.Context, tx Tx, worker string) error {
	now, err := s.clock(ctx, tx)
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, `INSERT INTO workers (id, seen) VALUES ($1, $2) ON CONFLICT (id) DO UPDATE SET seen = excluded.seen`, worker, now)
	return err
}

// Leave takes a worker off the list: its jobs, if it has any, are free.
func Leave(ctx context.Context, tx Tx, worker string) error {
	_, err := tx.exec(ctx, `DELETE FROM workers WHERE id = $1`, worker)
	return err
}

// LeaveAlone takes all but one off the list.
func LeaveAlone(ctx context.Context, tx Tx, worker string) error {
	_, err := tx.exec(ctx, `DELETE FROM workers WHERE id <> $1`, worker)
	return err
}

// SeenSince is the moment since which a worker must have been seen to count as
// alive, in microseconds since 1970, and takes those off the list that were not
// seen for a day.
func (s *Store) SeenSince(ctx context.Context, tx Tx, within time.Duration) (int64, error) {
	now, err := s.clock(ctx, tx)
	if err != nil {
		return 0, err
	}
	since := now - within.Microseconds()
	_, err = tx.exec(ctx, `DELETE FROM workers WHERE seen < $1`, since-(24*time.Hour).Microseconds())
	return since, err
}

func (s *Store) clock(ctx context.Context, tx Tx) (now int64, err error) {
	if _, shared := tx.(postgresTx); !shared {
		return micros(s.now()), nil
	}
	err = one(ctx, tx, []any{&now}, `SELECT (extract(epoch FROM clock_timestamp()) * 1000000)::bigint`)
	return now, err
}
