package api

import (
	"io"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// operatorRoutes serve metrics and health to whoever runs the service.
func (h *handlers) operatorRoutes(registry *prometheus.Registry) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(registry, promhttp.HandlerOpts{
		Registry: registry, EnableOpenMetrics: true, MaxRequestsInFlight: 4, Timeout: 10 * time.Second,
	}))
	for _, route := range []string{"GET /healthz", "GET /livez"} {
		mux.HandleFunc(route, func(w http.ResponseWriter, _ *http.Request) {
			operatorAnswer(w, http.StatusOK, "alive")
		})
	}
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, r *http.Request) {
		if err := h.ready(r.Context()); err != nil {
			operatorAnswer(w, http.StatusServiceUnavailable, problemOf(err).Code)
			return
		}
		operatorAnswer(w, http.StatusOK, "ready")
	})
	return mux
}

func operatorAnswer(w http.ResponseWriter, status int, word string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(status)
	_, _ = io.WriteString(w, word+"\n") // the operator's tool left
}
