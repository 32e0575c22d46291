package batch

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/worker/queue"
	"partwright/worker/stage"
	"partwright/worker/store"
)

// Metrics are the figures of a service. Labels come from closed sets. A nil
// *Metrics counts nothing.
type Metrics struct {
	registry prometheus.Registerer
	jobs     *prometheus.CounterVec
	answers  *prometheus.CounterVec
	lookups  *prometheus.CounterVec
	duration prometheus.Histogram
	stuck    prometheus.Gauge
	missing  prometheus.Counter
}

// NewMetrics registers the metrics of a service; one registry serves one.
func NewMetrics(registry prometheus.Registerer) *Metrics {
	m := &Metrics{
		registry: registry,
		jobs: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_jobs_total",
			Help: "Durable jobs of this process by outcome: done, failed (to be tried again), interrupted (by the end of the process).",
		}, []string{"outcome"}),
		answers: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_batch_scores_total",
			Help: "Scores of batches by outcome: done, failed, late (answered or canceled meanwhile).",
		}, []string{"outcome"}),
		lookups: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "partwright_cache_lookups_total",
			Help: "Looks for an earlier answer to the same score, by result: hit or miss.",
		}, []string{"result"}),
		duration: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "partwright_batch_score_duration_seconds",
			Help:    "Time that a score of a batch took, from its turn in the chunk to its packed answer.",
			Buckets: prometheus.ExponentialBuckets(0.001, 2.5, 12), NativeHistogramBucketFactor: 1.1,
		}),
	}
	m.stuck = prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "partwright_batches_undeletable",
		Help: "Batches that should have been deleted when this process looked last, and could not be.",
	})
	m.missing = prometheus.NewCounter(prometheus.CounterOpts{
		Name: "partwright_blobs_gone_total",
		Help: "Scores and parts of answers that were asked for and are not where they were stored outside the database.",
	})
	registry.MustRegister(m.jobs, m.answers, m.lookups, m.duration, m.stuck, m.missing)
	for _, outcome := range []string{"done", "failed", "interrupted"} {
		m.jobs.WithLabelValues(outcome)
	}
	for _, outcome := range []string{"done", "failed", "late"} {
		m.answers.WithLabelValues(outcome)
	}
	for _, result := range []string{"hit", "miss"} {
		m.lookups.WithLabelValues(result)
	}
	return m
}

func (m *Metrics) job(err error) {
	if m == nil {
		return
	}
	outcome := "done"
	switch {
	case err == nil, errors.Is(err, store.ErrNotFound):
	case errors.Is(err, context.Canceled):
		outcome = "interrupted"
	default:
		outcome = "failed"
	}
	m.jobs.WithLabelValues(outcome).Inc()
}

func (m *Metrics) saved(results []store.NewResult, late int) {
	if m == nil {
		return
	}
	for i := range results {
		outcome := "done"
		if results[i].Problem != nil {
			outcome = "failed"
		}
		m.answers.WithLabelValues(outcome).Inc()
	}
	m.answers.WithLabelValues("late").Add(float64(late))
}

func (m *Metrics) score(ctx context.Context, took time.Duration) {
	if m != nil {
		stage.ObserveTraced(ctx, m.duration, took)
	}
}

func (m *Metrics) undeletable(batches int) {
	if m != nil {
		m.stuck.Set(float64(batches))
	}
}

func (m *Metrics) gone(documents int) {
	if m != nil {
		m.missing.Add(float64(documents))
	}
}

func (m *Metrics) reused(hit bool) {
	if m == nil {
		return
	}
	result := "miss"
	if hit {
		result = "hit"
	}
	m.lookups.WithLabelValues(result).Inc()
}

// watch registers what is read from the database at each scrape.
func (m *Metrics) watch(s *Service) {
	if m != nil {
		m.registry.MustRegister(collector{s})
	}
}

type collector struct{ service *Service }

var (
	waitingDesc = prometheus.NewDesc("partwright_jobs_unfinished",
		"Durable jobs that wait or run, of all processes on the database, by priority.", []string{"priority"}, nil)
	oldestDesc = prometheus.NewDesc("partwright_jobs_oldest_age_seconds",
		"How long ago the oldest of them was added, 0 for none, by priority.", []string{"priority"}, nil)
	sizeDesc = prometheus.NewDesc("partwright_database_size_bytes",
		"Bytes that the database takes.", nil, nil)
	backupDesc = prometheus.NewDesc("partwright_backup_timestamp_seconds",
		"When the last copy of the database was made, in seconds since 1970, 0 for never as far as is known.", nil, nil)
	freeDesc = prometheus.NewDesc("partwright_disk_free_bytes",
		"Bytes that are free on the disk of the data directory; not there with PostgreSQL.", nil, nil)
	diskDesc = prometheus.NewDesc("partwright_disk_size_bytes",
		"Bytes that this disk has in all.", nil, nil)
	upDesc = prometheus.NewDesc("partwright_database_up",
		"1 if the database answered this scrape, 0 if not.", nil, nil)
)

// Describe implements [prometheus.Collector].
func (c collector) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{waitingDesc, oldestDesc, sizeDesc, backupDesc, freeDesc, diskDesc, upDesc} {
		out <- d
	}
}

// scrapeTime bounds what a scrape may wait for the database.
const scrapeTime = 5 * time.Second

// Collect implements [prometheus.Collector].
func (c collector) Collect(out chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), scrapeTime)
	defer cancel()
	gauge := func(d *prometheus.Desc, value float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, value, labels...)
	}
	if free, all, known := c.service.store.DiskSpace(); known {
		gauge(freeDesc, float64(free))
		gauge(diskDesc, float64(all))
	}
	backlogs, err := c.service.queue.Backlogs(ctx)
	var size int64
	if err == nil {
		size, err = c.service.store.Size(ctx)
	}
	var backup time.Time
	if err == nil {
		err = c.service.store.Read(ctx, func(tx store.Tx) (err error) {
			backup, err = store.LastBackup(ctx, tx)
			return err
		})
	}
	if err != nil {
		gauge(upDesc, 0)
		return
	}
	gauge(upDesc, 1)
	gauge(sizeDesc, float64(size))
	made := 0.0
	if !backup.IsZero() {
		made = float64(backup.UnixMicro()) / 1e6
	}
	gauge(backupDesc, made)
	found := map[queue.Priority]queue.Backlog{}
	for _, b := range backlogs {
		if b.Line == line || b.Line == single {
			b.Jobs += found[b.Priority].Jobs
			b.Oldest = max(b.Oldest, found[b.Priority].Oldest)
			found[b.Priority] = b
		}
	}
	for _, p := range queue.Priorities {
		label := p.String()
		gauge(waitingDesc, float64(found[p].Jobs), label)
		gauge(oldestDesc, found[p].Oldest.Seconds(), label)
	}
}
