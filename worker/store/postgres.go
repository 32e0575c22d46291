package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
)

// postgres is a PostgreSQL database that several machines share.
type postgres struct {
	pool     *pgxpool.Pool
	patience time.Duration
}

// migrationLock is the number of the advisory lock under which one process at a
// time changes tables; chosen at random.
const migrationLock = 4727301856620173

func openPostgres(ctx context.Context, c Config) (*postgres, error) {
	config, err := pgxpool.ParseConfig(c.URL)
	if err != nil {
		return nil, fmt.Errorf("the database URL cannot be read: %w", err)
	}
	config.MaxConns = int32(max(2, min(c.Connections, 1000))) // two, since one holds the lock below
	// So that the server's own list of what runs says whose it is.
	if config.ConnConfig.RuntimeParams["application_name"] == "" {
		config.ConnConfig.RuntimeParams["application_name"] = cmp.Or(c.Name, "partwright")
	}
	if config.ConnConfig.ConnectTimeout <= 0 {
		config.ConnConfig.ConnectTimeout = min(10*time.Second, c.Patience)
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("opening the database: %w", err)
	}
	d := &postgres{pool, c.Patience}
	err = d.alone(ctx, func() error {
		db := stdlib.OpenDBFromPool(pool)
		defer func() { _ = db.Close() }()
		return migrate(ctx, dialectPostgres, db, false)
	})
	if err != nil {
		pool.Close()
		return nil, err
	}
	return d, nil
}

// alone runs f while no other process runs its own.
func (d *postgres) alone(ctx context.Context, f func() error) error {
	conn, err := d.pool.Acquire(ctx)
	if err != nil {
		return fmt.Errorf("connecting to the database: %w", err)
	}
	defer conn.Release()
	if _, err := conn.Exec(ctx, "SELECT pg_advisory_lock($1)", int64(migrationLock)); err != nil {
		return fmt.Errorf("waiting to change the tables: %w", err)
	}
	err = f()
	_, unlockErr := conn.Exec(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", int64(migrationLock))
	return errors.Join(err, unlockErr)
}

// maxTries bounds how often a transaction is begun again.
const maxTries = 10

func (d *postgres) write(ctx context.Context, f func(Tx) error) error {
	for try := 1; ; try++ {
		err := d.transact(ctx, pgx.TxOptions{}, f)
		if !mayTryAgain(err) || try == maxTries {
			return err
		}
		pause := time.Duration(rand.Int64N(int64(try) * int64(5*time.Millisecond))) // #nosec G404 -- spreads retries, guards nothing
		select {
		case <-time.After(pause):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// mayTryAgain tells a transaction that lost to another (PostgreSQL, appendix A:
// serialization_failure, deadlock_detected) from one that failed. A
// foreign_key_violation is a score that was taken up again while it was deleted.
func mayTryAgain(err error) bool {
	var reason *pgconn.PgError
	return errors.As(err, &reason) && slices.Contains([]string{"40001", "40P01", "23503"}, reason.Code)
}

func (d *postgres) read(ctx context.Context, f func(Tx) error) error {
	return d.transact(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, f)
}

// transact runs f in a transaction. When that takes too long its connection is closed
// under it, which ends whatever statement waits, of f or of others that f calls.
func (d *postgres) transact(ctx context.Context, options pgx.TxOptions, f func(Tx) error) error {
	soon, cancel := context.WithTimeout(ctx, d.patience)
	conn, err := d.pool.Acquire(soon)
	cancel()
	if err != nil && ctx.Err() == nil && errors.Is(err, context.DeadlineExceeded) {
		err = fmt.Errorf("%w: %w", ErrDown, err)
	}
	if err != nil {
		return err
	}
	defer conn.Release()
	line := conn.Conn().PgConn().Conn()
	end := time.AfterFunc(d.patience, func() { _ = line.Close() })
	err = pgx.BeginTxFunc(ctx, conn, options, func(tx pgx.Tx) error { return f(postgresTx{tx}) })
	if !end.Stop() && err != nil {
		err = fmt.Errorf("%w: %w", ErrDown, err)
	}
	return err
}

func (d *postgres) close() error {
	d.pool.Close()
	return nil
}
