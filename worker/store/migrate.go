package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
)

const (
	dialectSQLite   = goose.DialectSQLite3
	dialectPostgres = goose.DialectPostgres
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// Migrations are the steps that made the tables what they are, as goose reads them: a file
// each, numbered from 1 without a gap.
func Migrations() (fs.FS, error) { return fs.Sub(migrationFiles, "migrations") }

// migrate brings the tables up to date. A database that is further than this
// program is left alone: [ErrNewer]. So is one that another process works on,
// whatever it lacks: [ErrOlder].
func migrate(ctx context.Context, dialect goose.Dialect, db *sql.DB, beside bool) error {
	files, err := Migrations()
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(dialect, db, files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	version, err := provider.GetDBVersion(ctx)
	if err != nil {
		return fmt.Errorf("reading the version of the data: %w", err)
	}
	sources := provider.ListSources()
	newest := sources[len(sources)-1].Version
	if version > newest {
		return fmt.Errorf("%w: its tables are at %d, this program knows %d; use that version, or restore a back-up", ErrNewer, version, newest)
	}
	if beside {
		if version < newest {
			return fmt.Errorf("%w: its tables are at %d, this program needs %d; restart the service with this version", ErrOlder, version, newest)
		}
		return nil
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("bringing the tables up to date: %w", err)
	}
	return nil
}
