package storetest

import (
	"io/fs"
	"testing"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"partwright/worker/store"
)

// migrations are the store's, as the program holds them.
func migrations(t testing.TB) fs.FS {
	t.Helper()
	files, err := store.Migrations()
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// Versions is how many there are of the tables; the last is today's.
func Versions(t testing.TB) int64 {
	t.Helper()
	files, err := fs.ReadDir(migrations(t), ".")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d migrations, %v", len(files), err)
	}
	return int64(len(files))
}

// BackTo takes the tables back to a version; the store must be opened anew to bring
// them up to date.
func BackTo(t testing.TB, s *store.Store, version int64) {
	t.Helper()
	db, dialect := s.SQLite(), goose.DialectSQLite3
	if db == nil {
		db, dialect = stdlib.OpenDBFromPool(s.Postgres()), goose.DialectPostgres
		defer func() { _ = db.Close() }()
	}
	provider, err := goose.NewProvider(dialect, db, migrations(t), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := provider.DownTo(t.Context(), version); err != nil {
		t.Fatal(err)
	}
}
