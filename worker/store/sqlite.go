package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Files of a data directory.
const (
	dataFile = "partwright.db"
	lockFile = "partwright.lock"
	// begunFile stands beside an empty database from before it is made until there is
	// something in it: a process that is killed in between leaves both.
	begunFile = "partwright.begun"
)

// patience is how long a connection waits for what another holds.
const patience = "busy_timeout(5000)"

// sqlite is a data directory. SQLite lets one connection write at a time and
// others read beside it (sqlite.org, "Write-Ahead Logging"): with one that
// writes, so none ever finds the database locked.
type sqlite struct {
	lock           *sql.Conn
	locks          *sql.DB
	writer, reader *sql.DB
	dir            string
}

func openSQLite(ctx context.Context, c Config) (_ *sqlite, err error) {
	if _, err := os.Stat(filepath.Join(c.Dir, dataFile)); c.Existing && errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("the data directory %s holds no data yet", c.Dir)
	}
	if err := os.MkdirAll(c.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("making the data directory: %w", err)
	}
	d := &sqlite{dir: c.Dir}
	defer func() {
		if err != nil {
			_ = d.close()
			err = inDirectory(c.Dir, err)
		}
	}()
	err = d.take(ctx, c.Dir)
	beside := c.Beside && errors.Is(err, ErrInUse)
	if err != nil && !beside {
		return nil, err
	}
	file := filepath.Join(c.Dir, dataFile)
	// Whoever makes the file holds the lock until there is something in it.
	if !beside {
		if err := begin(c.Dir); err != nil {
			return nil, err
		}
	}
	// FULL survives a power cut as well, at one sync a commit. Immediate
	// transactions take the lock at once, not when they first write. What is deleted
	// is overwritten with zeros: it may be a pupil's. How the file is made smaller has to be
	// said before there is something in it; see [Store.Shrink].
	d.writer, err = openFile(file, 1, "rwc", "immediate",
		"auto_vacuum(incremental)", "journal_mode(wal)", "synchronous(full)", "foreign_keys(on)", "secure_delete(on)", patience)
	if err != nil {
		return nil, err
	}
	if err := migrate(ctx, dialectSQLite, d.writer, beside); err != nil {
		return nil, err
	}
	if !beside {
		if err := os.Remove(filepath.Join(c.Dir, begunFile)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
	}
	d.reader, err = openFile(file, c.Connections, "ro", "deferred", "query_only(on)", patience)
	return d, err
}

// begin notes that a database is about to be made where there is none. An empty one
// without this note was cut off: it must not become a new service without data.
func begin(dir string) error {
	file, begun := filepath.Join(dir, dataFile), filepath.Join(dir, begunFile)
	info, err := os.Stat(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return os.WriteFile(begun, nil, 0o600)
	case err != nil || info.Size() > 0:
		return err
	}
	if _, err := os.Stat(begun); err != nil {
		return fmt.Errorf("the database %s is empty, as if it had been cut off; restore a back-up, or delete the file to begin without data", file)
	}
	return nil
}

// inDirectory adds to what SQLite says what an operator can do about it.
func inDirectory(dir string, err error) error {
	var reason *driver.Error
	if !errors.As(err, &reason) {
		return err
	}
	switch reason.Code() & 0xff {
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return fmt.Errorf("the data directory %s cannot be written; check its owner, permissions and disk: %w", dir, err)
	case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("the data directory %s holds no sound database; restore a back-up: %w", dir, err)
	}
	return err
}

// take holds an exclusive lock in a file of its own until the store is closed or
// the process ends, however it ends: the operating system lets go of it.
func (d *sqlite) take(ctx context.Context, dir string) (err error) {
	if d.locks, err = openFile(filepath.Join(dir, lockFile), 1, "rwc", "exclusive", "busy_timeout(0)"); err != nil {
		return err
	}
	if d.lock, err = d.locks.Conn(ctx); err == nil {
		_, err = d.lock.ExecContext(ctx, "BEGIN EXCLUSIVE")
	}
	var reason *driver.Error
	if errors.As(err, &reason) && reason.Code()&0xff == sqlite3.SQLITE_BUSY {
		return fmt.Errorf("%w: %s; stop that process, or choose another directory", ErrInUse, dir)
	}
	if err != nil {
		return fmt.Errorf("locking the data directory %s: %w", dir, err)
	}
	return nil
}

func openFile(file string, connections int, mode, lock string, pragmas ...string) (*sql.DB, error) {
	query := url.Values{"mode": {mode}, "_txlock": {lock}}
	for _, p := range pragmas {
		query.Add("_pragma", p)
	}
	path, err := filepath.Abs(file)
	if err != nil {
		return nil, err
	}
	if mode == "rwc" {
		// Scores and secrets are nobody else's, and what SQLite makes beside a file has
		// its permissions. One that exists stays closed: closing it would give up the
		// locks that this process has on it.
		if f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600); err == nil { // #nosec G304 -- a place that the operator names
			_ = f.Close()
		} // else SQLite says why
	}
	source := url.URL{Scheme: "file", Path: filepath.ToSlash(path), RawQuery: query.Encode()}
	db, err := sql.Open("sqlite", source.String())
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", file, err)
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	return db, nil
}

func (d *sqlite) write(ctx context.Context, f func(Tx) error) error {
	return inSQLite(ctx, d.writer, f)
}

func (d *sqlite) read(ctx context.Context, f func(Tx) error) error {
	return inSQLite(ctx, d.reader, f)
}

func inSQLite(ctx context.Context, db *sql.DB, f func(Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // without effect after the commit
	if err := f(sqliteTx{tx}); err != nil {
		return err
	}
	return tx.Commit()
}

// EmptyLog moves what is in SQLite's write-ahead log to where it belongs and makes the
// log empty: what was deleted would stand there until others write over it. It waits
// for no reader; where one keeps it from being emptied, another time will do. With
// PostgreSQL it does nothing.
func (s *Store) EmptyLog(ctx context.Context) error {
	d, ok := s.database.(*sqlite)
	if !ok {
		return nil
	}
	conn, err := d.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout(0)"); err != nil {
		return err
	}
	_, err = conn.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	_, again := conn.ExecContext(context.WithoutCancel(ctx), "PRAGMA "+patience)
	return errors.Join(err, again)
}

// alone needs no lock: the process has the directory to itself.
func (d *sqlite) alone(_ context.Context, f func() error) error { return f() }

func (d *sqlite) close() error {
	var errs []error
	for _, db := range []*sql.DB{d.reader, d.writer} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	if d.lock != nil {
		errs = append(errs, d.lock.Close())
	}
	if d.locks != nil {
		errs = append(errs, d.locks.Close())
	}
	return errors.Join(errs...)
}
