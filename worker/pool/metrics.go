package pool

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// outcome is how a job ended: the label outcome of metrics.
type outcome string

// The outcomes of a job.
const (
	// done: answered. Findings do not matter.
	done outcome = "done"
	// refused: not readable as a score, or asked for in a way we do not know.
	refused outcome = "refused"
	// turnedAway: no place in the queue, or shutting down.
	turnedAway outcome = "turned_away"
	// timedOut: answered at the deadline without a result.
	timedOut outcome = "timed_out"
	// canceled: whoever asked went away.
	canceled outcome = "canceled"
	// panicked: our own code panicked.
	panicked outcome = "panicked"
	// failed: any other fault of ours.
	failed outcome = "failed"
)

// outcomes lists all outcomes.
var outcomes = []outcome{done, refused, turnedAway, timedOut, canceled, panicked, failed}

// outcomeOf says how a score ended that returned err.
func outcomeOf(err error) outcome {
	switch {
	case err == nil:
		return done
	case isRefusal(err):
		return refused
	case errors.Is(err, ErrBusy), errors.Is(err, ErrDraining):
		return turnedAway
	case errors.Is(err, stage.ErrDeadline), errors.Is(err, context.DeadlineExceeded):
		return timedOut
	case errors.Is(err, context.Canceled):
		return canceled
	case errors.Is(err, stage.ErrPanicked), errors.Is(err, stage.ErrLost):
		return panicked
	}
	return failed
}

// isRefusal reports whether an error is the caller's to mend.
func isRefusal(err error) bool {
	var (
		input       *musicxml.InputError
		wrong       *worker.RequestError
		progression *voicing.ProgressionError
		impossible  *voicing.ImpossibleError
		memory      *theory.MemoryError
	)
	return errors.As(err, &input) || errors.As(err, &wrong) || errors.As(err, &progression) ||
		errors.As(err, &impossible) || errors.As(err, &memory)
}

// Metrics are the figures of a pool and its engine. Labels come from closed
// sets: nothing of a score but the ids of rules gets into them. A nil *Metrics
// counts nothing.
type Metrics struct {
	registry prometheus.Registerer
	scores   *prometheus.CounterVec
	bytes    *prometheus.CounterVec
	findings *prometheus.CounterVec
	stages   *prometheus.HistogramVec
	wait     prometheus.Histogram
}

// NewMetrics registers the metrics of a worker. It panics, as prometheus does,
// if the registry has them already: one registry serves one pool.
func NewMetrics(registry prometheus.Registerer) *Metrics {
	m := &Metrics{
		registry: registry,
		scores: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_scores_total",
			Help: "Scores by task and outcome.",
		}, []string{"task", "outcome"}),
		bytes: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_score_bytes_total",
			Help: "Bytes of the scores handed in, as they came, by task.",
		}, []string{"task"}),
		findings: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_findings_total",
			Help: "Findings by rule and severity.",
		}, []string{"rule", "severity"}),
		stages: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "partwright_stage_duration_seconds",
			Help:    "Time that a stage of the job took for one score.",
			Buckets: prometheus.ExponentialBuckets(0.0005, 2.5, 12), NativeHistogramBucketFactor: 1.1,
		}, []string{"stage"}),
		wait: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "partwright_queue_wait_seconds",
			Help:    "Time that a score waited for a worker.",
			Buckets: prometheus.ExponentialBuckets(0.001, 4, 9), NativeHistogramBucketFactor: 1.1,
		}),
	}
	registry.MustRegister(m.scores, m.bytes, m.findings, m.stages, m.wait)
	for _, job := range request.Jobs {
		m.bytes.WithLabelValues(string(job))
		for _, outcome := range outcomes {
			m.scores.WithLabelValues(string(job), string(outcome))
		}
	}
	for _, stage := range stage.All {
		m.stages.WithLabelValues(string(stage))
	}
	return m
}

// ObserveStage fits [worker.Engine.Observe].
func (m *Metrics) ObserveStage(ctx context.Context, name stage.Name, took time.Duration) {
	if m != nil {
		stage.ObserveTraced(ctx, m.stages.WithLabelValues(string(name)), took)
	}
}

func (m *Metrics) outcome(job request.Job, size int, err error) {
	if m != nil {
		m.scores.WithLabelValues(string(job), string(outcomeOf(err))).Inc()
		m.bytes.WithLabelValues(string(job)).Add(float64(size))
	}
}

func (m *Metrics) waited(d time.Duration) {
	if m != nil {
		m.wait.Observe(d.Seconds())
	}
}

// count counts the findings of an answer that has some.
func (m *Metrics) count(a *answer.Answer) {
	if m == nil {
		return
	}
	for _, t := range answer.TallyOf(a.Report) {
		m.findings.WithLabelValues(t.Rule, t.Severity).Add(float64(t.Count))
	}
}
