package api

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/worker/pool"
)

// quiet is a client that keeps nothing, so that only the service is measured.
type quiet struct{ header http.Header }

func (q *quiet) Header() http.Header         { return q.header }
func (q *quiet) Write(b []byte) (int, error) { return len(b), nil }
func (q *quiet) WriteHeader(int)             {}

// BenchmarkCheck is one request through the handler: what HTTP costs alone, with
// a pool that answers at once, and with the engine behind it.
func BenchmarkCheck(b *testing.B) {
	score := demo(b, "hand-in.musicxml")
	for _, bb := range []struct {
		name, accept string
		pool         func(*prometheus.Registry) jobs
	}{
		{"http-only", typeJSON, func(*prometheus.Registry) jobs { return &fakePool{} }},
		{"findings", typeJSON, func(r *prometheus.Registry) jobs { return enginePool(b, r, pool.Config{}) }},
		{"both", typeMixed, func(r *prometheus.Registry) jobs { return enginePool(b, r, pool.Config{}) }},
	} {
		b.Run(bb.name, func(b *testing.B) {
			registry := prometheus.NewRegistry()
			s, err := newServer(Config{}, bb.pool(registry), registry, slog.New(slog.NewJSONHandler(io.Discard, nil)))
			if err != nil {
				b.Fatal(err)
			}
			handler := s.Handler()
			body := bytes.NewReader(score)
			r := post("/v1/checks", "", "Accept", bb.accept)
			r.ContentLength = int64(len(score))
			b.SetBytes(int64(len(score)))
			b.ReportAllocs()
			for b.Loop() {
				body.Reset(score)
				r.Body = io.NopCloser(body)
				handler.ServeHTTP(&quiet{http.Header{}}, r)
			}
		})
	}
}
