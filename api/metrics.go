package api

import (
	"context"
	"net/http"
	"runtime"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"partwright/worker/stage"
)

// metrics are the figures of the HTTP side. Labels come from closed sets: the
// template of a route, never an address.
type metrics struct {
	requests *prometheus.CounterVec
	duration *prometheus.HistogramVec
	inFlight prometheus.Gauge
	received prometheus.Counter
	sent     prometheus.Counter
}

func newMetrics(registry prometheus.Registerer, version string) *metrics {
	labels := []string{"method", "route", "status"}
	m := &metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_http_requests_total",
			Help: "Requests by method, route template and status.",
		}, labels),
		duration: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "partwright_http_request_duration_seconds",
			Help:    "Time from the headers of a request to the end of its answer, by method, route template and status.",
			Buckets: prometheus.ExponentialBuckets(0.001, 2.5, 18), NativeHistogramBucketFactor: 1.1,
		}, labels),
		inFlight: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "partwright_http_requests_in_flight",
			Help: "Requests that are being answered.",
		}),
		received: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "partwright_http_received_bytes_total",
			Help: "Bytes of request bodies that were read.",
		}),
		sent: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "partwright_http_sent_bytes_total",
			Help: "Bytes of answers' bodies that were written, before they were compressed.",
		}),
	}
	build := prometheus.NewGauge(prometheus.GaugeOpts{
		Name:        "partwright_build_info",
		Help:        "1, with the version of the program and of Go as labels.",
		ConstLabels: prometheus.Labels{"version": version, "go_version": runtime.Version()},
	})
	build.Set(1)
	registry.MustRegister(m.requests, m.duration, m.inFlight, m.received, m.sent, build,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// observe counts an answered request. The id of its trace, if it has one, goes
// with the duration as an exemplar.
func (m *metrics) observe(ctx context.Context, method, route string, status int, took time.Duration, in, out int64) {
	values := []string{methodLabel(method), routeLabel(route), strconv.Itoa(status)}
	m.requests.WithLabelValues(values...).Inc()
	stage.ObserveTraced(ctx, m.duration.WithLabelValues(values...), took)
	m.received.Add(float64(in))
	m.sent.Add(float64(max(out, 0)))
}

// methodLabel keeps a client from inventing labels.
func methodLabel(method string) string {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch,
		http.MethodDelete, http.MethodOptions, http.MethodConnect, http.MethodTrace:
		return method
	}
	return "other"
}

func routeLabel(template string) string {
	if template == "" {
		return "none"
	}
	return template
}
