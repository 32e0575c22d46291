package pool

import "github.com/prometheus/client_golang/prometheus"

// watch registers the pool's own figures, read at each scrape.
func (m *Metrics) watch(p *Pool) {
	if m != nil {
		m.registry.MustRegister(poolCollector{p})
	}
}

// poolCollector reads all figures of a pool under one lock, so that they fit
// together.
type poolCollector struct{ pool *Pool }

var poolFigures = []struct {
	desc  *prometheus.Desc
	value func(Stats) float64
}{
	{prometheus.NewDesc("partwright_pool_size", "Scores that can run at once.", nil, nil),
		func(s Stats) float64 { return float64(s.Size) }},
	{prometheus.NewDesc("partwright_pool_running", "Scores that run now.", nil, nil),
		func(s Stats) float64 { return float64(s.Running) }},
	{prometheus.NewDesc("partwright_pool_overrunning", "Scores that still run past their deadline, answered already.", nil, nil),
		func(s Stats) float64 { return float64(s.Overrunning) }},
	{prometheus.NewDesc("partwright_queue_capacity", "Scores that may wait.", nil, nil),
		func(s Stats) float64 { return float64(s.Queue) }},
	{prometheus.NewDesc("partwright_queue_depth", "Scores that wait now.", nil, nil),
		func(s Stats) float64 { return float64(s.Waiting) }},
	{prometheus.NewDesc("partwright_queue_oldest_age_seconds", "How long the first score in the queue has waited, 0 for an empty queue.", nil, nil),
		func(s Stats) float64 { return s.Oldest.Seconds() }},
}

// Describe implements [prometheus.Collector].
func (c poolCollector) Describe(out chan<- *prometheus.Desc) {
	for _, f := range poolFigures {
		out <- f.desc
	}
}

// Collect implements [prometheus.Collector].
func (c poolCollector) Collect(out chan<- prometheus.Metric) {
	stats := c.pool.Stats()
	for _, f := range poolFigures {
		out <- prometheus.MustNewConstMetric(f.desc, prometheus.GaugeValue, f.value(stats))
	}
}
