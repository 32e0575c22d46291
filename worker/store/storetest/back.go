package storetest

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"partwright/worker/store"
)

// migrations is the folder of the store's.
func migrations(t testing.TB) string {
	t.Helper()
	_, file, _, ok := runtime.Caller(0)
	if !ok {
		t.Fatal("the test does not know where its files lie")
	}
	return filepath.Join(filepath.Dir(file), "..", "migrations")
}

// Versions is how many there are of the tables; the last is today's.
func Versions(t testing.TB) int64 {
	t.Helper()
	files, err := os.ReadDir(migrations(t))
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
	provider, err := goose.NewProvider(dialect, db, os.DirFS(migrations(t)), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := provider.DownTo(t.Context(), version); err != nil {
		t.Fatal(err)
	}
}
