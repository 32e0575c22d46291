// Package storetest gives tests a database of their own of either kind.
package storetest

import (
	"context"
	"crypto/rand"
	"errors"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"partwright/worker/store"
)

// Each runs a test on SQLite, and on PostgreSQL where there is one.
func Each(t *testing.T, test func(*testing.T, store.Config)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { test(t, store.Config{Dir: t.TempDir()}) })
	t.Run("postgres", func(t *testing.T) { test(t, store.Config{URL: EmptyPostgres(t)}) })
}

// Open opens a store until the test ends.
func Open(t testing.TB, c store.Config) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// EmptyPostgres returns the URL of a schema that is dropped after the test, which
// is skipped where there is no server.
func EmptyPostgres(t testing.TB) string {
	t.Helper()
	server := os.Getenv("PARTWRIGHT_TEST_POSTGRES")
	if server == "" {
		t.Skip("no PostgreSQL to test on: set PARTWRIGHT_TEST_POSTGRES to the URL of a database that may be written to")
	}
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, server)
	if err != nil {
		t.Fatalf("PARTWRIGHT_TEST_POSTGRES: %v", err)
	}
	schema := "test_" + strings.ToLower(rand.Text())
	if _, err := conn.Exec(ctx, "CREATE SCHEMA "+schema); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_, err := conn.Exec(ctx, "DROP SCHEMA "+schema+" CASCADE")
		if err := errors.Join(err, conn.Close(ctx)); err != nil {
			t.Error(err)
		}
	})
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	query := u.Query()
	query.Set("search_path", schema)
	u.RawQuery = query.Encode()
	return u.String()
}
