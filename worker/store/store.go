// Package store keeps batches, their scores and their results: in SQLite in one
// data directory, or in PostgreSQL. Begin with [Open]. The tables and every
// statement are the same for both; what differs is in sqlite.go and postgres.go.
//
// It keeps and finds, and knows nothing of how a score is checked or when.
// Whatever belongs to an organization is only found with that organization's id:
// a foreign id is [ErrNotFound], as one that never was.
package store

import (
	"context"
	"database/sql"
	"errors"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

// SingleUser is the organization of a store that has no accounts.
const SingleUser = "single-user"

// Errors of a store.
var (
	// ErrNotFound is returned for what is not there or not the organization's.
	ErrNotFound = errors.New("not found")
	// ErrFull is returned where the disk of the database has no room.
	ErrFull = errors.New("the disk of the database is full")
	// ErrDown is returned where the database is gone, or takes nothing.
	ErrDown = errors.New("the database cannot be reached")
	// ErrInUse is returned by [Open] when another process has the data directory.
	ErrInUse = errors.New("the data directory is in use by another process")
	// ErrNewer is returned by [Open] for data of a later version of the program.
	ErrNewer = errors.New("the data was written by a later version of the program")
	// ErrOlder is returned by [Open] for data that a running process keeps as an
	// earlier version of the program did.
	ErrOlder = errors.New("the data is in use by an earlier version of the program")
)

// Config says where the data is. One of Dir and URL must be set.
type Config struct {
	// Dir is the data directory of the embedded database, made if it is missing.
	// One process at a time may have it.
	Dir string
	// Beside opens the data directory even if a process has it, for a few short
	// transactions, as one that manages accounts does.
	Beside bool
	// Existing refuses a data directory without a database instead of making one.
	Existing bool
	// URL is where PostgreSQL is, such as postgres://user@host/name.
	URL string
	// Name is what PostgreSQL shows its connections under, unless URL names another
	// application_name (default partwright).
	Name string
	// Connections bounds the connections to PostgreSQL, or the reading ones to
	// SQLite, which has one that writes (default 8).
	Connections int
	// Patience is the longest time for a transaction of PostgreSQL (default 1 min): a
	// server that is gone without a word would be waited for for a quarter of an hour.
	Patience time.Duration
	// Blobs is a folder, or s3://BUCKET/PREFIX, where scores and answers are kept; "" is
	// for the database. Everybody who works on one database names the same, and no two
	// databases do.
	Blobs string
	// Logger is nil for none.
	Logger *slog.Logger
	// Now is nil for [time.Now].
	Now func() time.Time
}

// Store is an open database. It is safe for concurrent use.
type Store struct {
	database
	now func() time.Time
	// blobs is nil without a storage beside the database.
	blobs *storage
	// announce is called with every change; see [Store.Announce].
	announce Announcer
}

// database is what differs between the two.
type database interface {
	// write and read run f in a transaction; write may run it again.
	write(ctx context.Context, f func(Tx) error) error
	read(ctx context.Context, f func(Tx) error) error
	// alone runs f while no other process on these data runs its own.
	alone(ctx context.Context, f func() error) error
	close() error
}

// Open opens the database and brings its tables up to date. The error is
// [ErrInUse], [ErrNewer], or one of the database.
func Open(ctx context.Context, c Config) (*Store, error) {
	if c.Connections <= 0 {
		c.Connections = 8
	}
	if c.Patience <= 0 {
		c.Patience = time.Minute
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	s := &Store{now: c.Now}
	if s.now == nil {
		s.now = time.Now
	}
	var err error
	switch {
	case c.Dir != "" && c.URL != "":
		return nil, errors.New("a data directory and a database URL were both given: choose one")
	case c.Dir != "":
		s.database, err = openSQLite(ctx, c)
	case c.URL != "":
		s.database, err = openPostgres(ctx, c)
	default:
		return nil, errors.New("no data directory and no database URL were given: one is needed")
	}
	if err == nil {
		if err = s.openBlobs(ctx, c); err != nil {
			_ = s.close()
		}
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

// Close ends all connections and gives the data directory free.
func (s *Store) Close() error { return s.close() }

// SQLite returns the connection that writes, or nil if the store is PostgreSQL.
func (s *Store) SQLite() *sql.DB {
	if d, ok := s.database.(*sqlite); ok {
		return d.writer
	}
	return nil
}

// Postgres returns the pool of connections, or nil if the store is SQLite.
func (s *Store) Postgres() *pgxpool.Pool {
	if d, ok := s.database.(*postgres); ok {
		return d.pool
	}
	return nil
}

// Write runs f in a transaction that is committed unless f returns an error. f
// may run more than once, when PostgreSQL ends a transaction in favor of another,
// and must not use the store but through its Tx: SQLite has one connection that
// writes, and it would wait for itself.
func (s *Store) Write(ctx context.Context, f func(Tx) error) error {
	return classified(s.write(ctx, f))
}

// Read runs f on the data as they are at one moment. f must not write.
func (s *Store) Read(ctx context.Context, f func(Tx) error) error { return classified(s.read(ctx, f)) }

// Alone runs f while no other process that has this store open is inside its own
// Alone: for what is done once to the database, such as changing tables.
func (s *Store) Alone(ctx context.Context, f func() error) error { return s.alone(ctx, f) }

// Now is the moment that rows written now carry.
func (s *Store) Now() time.Time { return s.now() }
