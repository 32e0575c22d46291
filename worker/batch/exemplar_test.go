package batch_test

import (
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	sdk "go.opentelemetry.io/otel/sdk/trace"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func TestDurationOfAScoreLeadsToItsTrace(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		registry := prometheus.NewRegistry()
		b := newBench(t, c, func(c *batch.Config) {
			c.Metrics, c.Queue.Tracing = batch.NewMetrics(registry), sdk.NewTracerProvider()
		})
		b.start()
		b.wait(b.create(asked(), "one", "two").ID, store.BatchFinished)
		families, err := registry.Gather()
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, f := range families {
			if f.GetName() == "partwright_batch_score_duration_seconds" {
				found = len(f.GetMetric()[0].GetHistogram().GetExemplars())
			}
		}
		if found == 0 {
			t.Error("no exemplar leads to a trace")
		}
	})
}
