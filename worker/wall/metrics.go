package wall

import "github.com/prometheus/client_golang/prometheus"

// Register adds the figures of a wall to those of the service.
func Register(registry prometheus.Registerer, w *Wall) {
	registry.MustRegister(
		prometheus.NewCounterFunc(prometheus.CounterOpts{
			Name: "partwright_children_begun_total", Help: "Processes begun to work on scores.",
		}, func() float64 { begun, _ := w.Counts(); return float64(begun) }),
		prometheus.NewCounterFunc(prometheus.CounterOpts{
			Name: "partwright_children_ended_total", Help: "Processes that ended before their time: killed past a deadline, or by the system.",
		}, func() float64 { _, ended := w.Counts(); return float64(ended) }),
	)
}
