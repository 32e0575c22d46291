package webhook

import "github.com/prometheus/client_golang/prometheus"

// Metrics count what became of attempts. A nil one counts nothing.
type Metrics struct{ attempts *prometheus.CounterVec }

// NewMetrics registers the metrics of webhooks.
func NewMetrics(registry prometheus.Registerer) *Metrics {
	m := &Metrics{prometheus.NewCounterVec(prometheus.CounterOpts{
		Name: "partwright_webhook_attempts_total",
		Help: "Attempts to deliver to a webhook, by outcome: delivered, or why not.",
	}, []string{"outcome"})}
	registry.MustRegister(m.attempts)
	m.attempts.WithLabelValues("delivered") // there from the first scrape, so that a rate of none is 0
	return m
}

func (m *Metrics) attempted(failure string) {
	if m == nil {
		return
	}
	if failure == "" {
		failure = "delivered"
	}
	m.attempts.WithLabelValues(failure).Inc()
}
