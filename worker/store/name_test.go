package store_test

import (
	"context"
	"net/url"
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// PostgreSQL's own list of what runs says whose connections they are (manual, "libpq:
// Parameter Key Words", application_name).
func TestPostgresShowsWhoseConnectionsTheyAre(t *testing.T) {
	at := storetest.EmptyPostgres(t)
	named, err := url.Parse(at)
	if err != nil {
		t.Fatal(err)
	}
	query := named.Query()
	query.Set("application_name", "school")
	named.RawQuery = query.Encode()
	for _, c := range []struct {
		config store.Config
		want   string
	}{
		{store.Config{URL: at}, "partwright"},
		{store.Config{URL: at, Name: "partwright workers"}, "partwright workers"},
		{store.Config{URL: named.String(), Name: "partwright workers"}, "school"},
	} {
		s := storetest.Open(t, c.config)
		var got string
		err := s.Read(t.Context(), func(tx store.Tx) error {
			return store.Each(context.Background(), tx, func(scan store.Scan) error { return scan(&got) },
				`SELECT application_name FROM pg_stat_activity WHERE pid = pg_backend_pid()`)
		})
		if err != nil || got != c.want {
			t.Errorf("it shows %q, %v; want %q", got, err, c.want)
		}
	}
}
