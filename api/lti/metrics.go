package lti

import "github.com/prometheus/client_golang/prometheus"

// Metrics count what became of attempts to publish scores. A nil one counts nothing.
type Metrics struct{ attempts *prometheus.CounterVec }

// NewMetrics registers the metrics.
func NewMetrics(registry prometheus.Registerer) *Metrics {
	m := &Metrics{prometheus.NewCounterVec(prometheus.CounterOpts{
		Name: "partwright_lti_scores_total",
		Help: "Attempts to publish a score to a learning system, by outcome.",
	}, []string{"outcome"})}
	registry.MustRegister(m.attempts)
	for _, outcome := range outcomes {
		m.attempts.WithLabelValues(outcome) // there from the first scrape
	}
	return m
}

func (m *Metrics) attempted(outcome string) {
	if m != nil {
		m.attempts.WithLabelValues(outcome).Inc()
	}
}
