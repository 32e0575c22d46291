package deploy_test

import (
	"bytes"
	"context"
	"iter"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"

	"partwright/api"
	"partwright/api/webhook"
	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/store"
)

// exposed are the metrics of a service after a check and a batch: the labels of
// each with the values they have had.
type exposed map[string]map[string][]string

// expose runs a whole service over one score, singly and in a batch, and scrapes it.
func expose(t *testing.T) exposed {
	t.Helper()
	registry := prometheus.NewRegistry()
	metrics := worker.NewMetrics(registry)
	engine := &worker.Engine{Version: "test", Observe: metrics.ObserveStage}
	pool, err := worker.NewPool(worker.PoolConfig{}, engine, metrics, nil)
	if err != nil {
		t.Fatal(err)
	}
	score := read(t, "../testdata/class/hand-in.musicxml")
	answerBatch(t, registry, pool, score)
	webhook.NewMetrics(registry)
	server, err := api.NewServer(api.Config{}, pool, registry, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	answerCheck(t, server.Handler(), score)
	return scrape(t, registry)
}

func answerCheck(t *testing.T, handler http.Handler, score []byte) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("score", "hand-in.musicxml")
	if err == nil {
		_, err = part.Write(score)
	}
	if err != nil || form.Close() != nil {
		t.Fatal(err)
	}
	request := httptest.NewRequest(http.MethodPost, "/v1/checks", &body)
	request.Header.Set("Content-Type", form.FormDataContentType())
	answer := httptest.NewRecorder()
	handler.ServeHTTP(answer, request)
	if answer.Code != http.StatusOK {
		t.Fatalf("a check was answered %d: %s", answer.Code, answer.Body)
	}
}

func answerBatch(t *testing.T, registry *prometheus.Registry, pool *worker.Pool, score []byte) {
	t.Helper()
	data, err := store.Open(t.Context(), store.Config{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = data.Close() })
	service, err := batch.Open(t.Context(), batch.Config{Store: data, Pool: pool, Metrics: batch.NewMetrics(registry)})
	if err == nil {
		err = service.Start(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := service.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	made, err := service.Create(t.Context(), batch.Order{Organization: store.SingleUser, Items: items(score)})
	if err != nil {
		t.Fatal(err)
	}
	for until := time.Now().Add(20 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		status, err := service.Status(t.Context(), store.SingleUser, made.ID)
		if err == nil && status.State == store.BatchFinished {
			return
		}
		if err != nil || time.Now().After(until) {
			t.Fatalf("the batch is not done: %+v, %v", status, err)
		}
	}
}

func items(score []byte) iter.Seq[worker.Item] {
	return func(yield func(worker.Item) bool) {
		yield(worker.Item{Name: "hand-in.musicxml", Read: func() ([]byte, error) { return score, nil }})
	}
}

func scrape(t *testing.T, registry *prometheus.Registry) exposed {
	t.Helper()
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	all := exposed{}
	for _, family := range families {
		names := []string{family.GetName()}
		if family.GetType() == dto.MetricType_HISTOGRAM {
			names = nil
			for _, part := range []string{"_bucket", "_sum", "_count"} {
				names = append(names, family.GetName()+part)
			}
		}
		for _, name := range names {
			labels := map[string][]string{}
			if strings.HasSuffix(name, "_bucket") {
				labels["le"] = nil
			}
			for _, metric := range family.GetMetric() {
				for _, l := range metric.GetLabel() {
					labels[l.GetName()] = append(labels[l.GetName()], l.GetValue())
				}
			}
			all[name] = labels
		}
	}
	return all
}
