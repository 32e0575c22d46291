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

// Alive returns the workers seen within a time, and takes the others off the list.
func (s *Store) Alive(ctx context.Context, tx Tx, within time.Duration) (ids []string, err error) {
	now, err := s.clock(ctx, tx)
	if err != nil {
		return nil, err
	}
	if _, err := tx.exec(ctx, `DELETE FROM workers WHERE seen < $1`, now-within.Microseconds()); err != nil {
		return nil, err
	}
	err = tx.each(ctx, func(r row) error {
		var id string
		err := r.Scan(&id)
		ids = append(ids, id)
		return err
	}, `SELECT id FROM workers`)
	return ids, err
}

func (s *Store) clock(ctx context.Context, tx Tx) (now int64, err error) {
	if _, shared := tx.(postgresTx); !shared {
		return micros(s.now()), nil
	}
	err = one(ctx, tx, []any{&now}, `SELECT (extract(epoch FROM clock_timestamp()) * 1000000)::bigint`)
	return now, err
}
