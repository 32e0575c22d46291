package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
)

// A page limit is to SQLite what a full disk is (sqlite.org, "PRAGMA max_page_count").
func TestFullDisk(t *testing.T) {
	s, err := Open(t.Context(), Config{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	if _, err := s.SQLite().ExecContext(t.Context(), "PRAGMA max_page_count = 1"); err != nil {
		t.Fatal(err)
	}
	err = s.Write(t.Context(), func(tx Tx) error {
		_, err := tx.exec(t.Context(), "CREATE TABLE large AS SELECT randomblob(1000000) AS x")
		return err
	})
	if !errors.Is(err, ErrFull) || errors.Is(err, ErrDown) {
		t.Errorf("without room: %v", err)
	}
}

// Another process may hold the database longer than a connection waits, such as one that
// copies it by hand.
func TestLockedDatabase(t *testing.T) {
	file := filepath.Join(t.TempDir(), "x.db")
	open := func() *sql.Conn {
		db, err := openFile(file, 1, "rwc", "immediate", "busy_timeout(0)")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		conn, err := db.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return conn
	}
	one, other := open(), open()
	if _, err := one.ExecContext(t.Context(), "BEGIN EXCLUSIVE"); err != nil {
		t.Fatal(err)
	}
	_, err := other.ExecContext(t.Context(), "CREATE TABLE t (x)")
	if err == nil || !errors.Is(classified(err), ErrDown) {
		t.Errorf("a locked database: %v", err)
	}
}

// A file that was cut off must not become a new, empty service.
func TestEmptyDatabaseIsRefused(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(t.Context(), Config{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = Open(t.Context(), Config{Dir: dir}); err != nil {
		t.Fatalf("again: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(filepath.Join(dir, dataFile), 0); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "is empty") {
		t.Errorf("an empty database: %v", err)
	}
}

// A process that was killed while it made its database begins again.
func TestBeginningThatWasKilledGoesOn(t *testing.T) {
	dir := t.TempDir()
	if err := begin(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, dataFile), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), Config{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, begunFile)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the note stays: %v", err)
	}
}

// The codes are those of the PostgreSQL manual, appendix A.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		err, want error
		why       string
	}{
		{&pgconn.PgError{Code: "53100"}, ErrFull, "disk_full"},
		{&pgconn.PgError{Code: "57P01"}, ErrDown, "admin_shutdown"},
		{&pgconn.PgError{Code: "57P03"}, ErrDown, "cannot_connect_now"},
		{&pgconn.PgError{Code: "08006"}, ErrDown, "connection_failure"},
		{&pgconn.PgError{Code: "53300"}, ErrDown, "too_many_connections"},
		{fmt.Errorf("reading: %w", &net.OpError{Op: "read", Err: io.EOF}), ErrDown, "a connection that broke"},
		{&pgconn.PgError{Code: "42601"}, nil, "syntax_error is ours"},
		{&pgconn.PgError{Code: "57014"}, nil, "query_canceled is whoever went away"},
		{context.Canceled, nil, "whoever asked went away"},
		{ErrNotFound, nil, "an answer"},
	} {
		if got := faultOf(c.err); got != c.want { //nolint:errorlint // it is returned as it is
			t.Errorf("%v is %v, want %v: %s", c.err, got, c.want, c.why)
		}
	}
}
