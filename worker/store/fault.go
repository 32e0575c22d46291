package store

import (
	"errors"
	"fmt"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// classified marks an error that is the database's own, and no mistake of ours, as
// [ErrFull] or [ErrDown].
func classified(err error) error {
	fault := faultOf(err)
	if fault == nil || errors.Is(err, fault) {
		return err
	}
	return fmt.Errorf("%w: %w", fault, err)
}

// faultOf reads the result codes of SQLite and the error codes of PostgreSQL
// (appendix A: classes 08 and 57P, disk_full, too_many_connections).
func faultOf(err error) error {
	var embedded *driver.Error
	var server *pgconn.PgError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &embedded):
		switch embedded.Code() & 0xff {
		case sqlite3.SQLITE_FULL:
			return ErrFull
		case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
			return ErrDown
		}
	case errors.As(err, &server):
		switch code := server.Code; {
		case code == "53100":
			return ErrFull
		case code == "53300", strings.HasPrefix(code, "08"), strings.HasPrefix(code, "57P"):
			return ErrDown
		}
	case errors.As(err, new(*pgconn.ConnectError)), errors.As(err, new(*net.OpError)):
		return ErrDown
	}
	return nil
}
