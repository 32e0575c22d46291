package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/api"
	"partwright/worker"
	"partwright/worker/pool"
)

// A service is an engine, a pool over it, and a server over that. A program calls
// Run in place of the test server here.
func ExampleNewServer() {
	registry := prometheus.NewRegistry()
	metrics := pool.NewMetrics(registry)
	engine := &worker.Engine{Version: "1.0", Observe: metrics.ObserveStage}
	pool, err := pool.New(pool.Config{}, engine, metrics, nil)
	if err != nil {
		log.Fatal(err)
	}
	server, err := api.NewServer(api.Config{}, pool, registry, slog.New(slog.DiscardHandler))
	if err != nil {
		log.Fatal(err)
	}
	service := httptest.NewServer(server.Handler())
	defer service.Close()

	score, err := os.ReadFile("../testdata/class/hand-in.musicxml")
	if err != nil {
		log.Fatal(err)
	}
	answer, err := http.Post(service.URL+"/v1/checks", "application/vnd.recordare.musicxml+xml", bytes.NewReader(score))
	if err != nil {
		log.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	var report struct {
		Findings []struct {
			Measure, Message string
		}
	}
	if err := json.NewDecoder(answer.Body).Decode(&report); err != nil {
		log.Fatal(err)
	}
	first := report.Findings[0]
	fmt.Printf("%s: measure %s, %s\n", answer.Status, first.Measure, first.Message)
	// Output:
	// 200 OK: measure 1, parallel fifths between tenor and bass, G3–D4 to E3–B3
}
