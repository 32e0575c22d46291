package deploy_test

import (
	"context"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"partwright/musicxml/container"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// samples are open chorales where they are, else the demo class, unpacked so that
// each can be made another score by a comment at its end.
func samples(b *testing.B) [][]byte {
	b.Helper()
	var all [][]byte
	for _, pattern := range []string{"../../shared/data/chorales-closed/*.mxl", "../testdata/class/*.musicxml"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			b.Fatal(err)
		}
		for _, file := range files {
			data := read(b, file)
			if filepath.Ext(file) == ".mxl" {
				packed, err := container.Open(data, container.Limits{})
				if err != nil {
					b.Fatal(err)
				}
				data = packed.Score
			}
			all = append(all, data)
		}
		if len(all) > 0 {
			break
		}
	}
	return all
}

// different gives n scores, no two the same: an answer that is there already would
// cost next to nothing.
func different(scores [][]byte, n int) iter.Seq[files.Item] {
	return func(yield func(files.Item) bool) {
		for i := range n {
			name := fmt.Sprintf("archive/%d/%d.musicxml", i/1000, i)
			text := fmt.Appendf(nil, "%s<!-- %d -->", scores[i%len(scores)], i)
			if !yield(files.Item{Name: name, Read: func() ([]byte, error) { return text, nil }}) {
				return
			}
		}
	}
}

// processor is the processor time of this process: on a machine that others use
// as well, time on the wall says little.
func processor(b *testing.B) time.Duration {
	b.Helper()
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		b.Fatal(err)
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// BenchmarkScore measures what one score costs: checked alone; in a batch, end to
// end; and in a batch whose scores are answered by nobody's work, which leaves what
// the database costs. cpu-ms is processor time of this process; PostgreSQL's own is
// not in it.
func BenchmarkScore(b *testing.B) {
	scores := samples(b)
	engine := &worker.Engine{Version: "test"}
	plan, err := marking(b).Plan()
	if err != nil {
		b.Fatal(err)
	}
	b.Run("check", func(b *testing.B) {
		b.ReportAllocs()
		begun := processor(b)
		for item := range different(scores, b.N) {
			text, _ := item.Read()
			if _, err := engine.Do(b.Context(), worker.Input{Name: item.Name, Data: text}, plan.Check); err != nil {
				b.Fatal(err)
			}
		}
		cpu(b, begun)
	})
	ready, err := engine.Do(b.Context(), worker.Input{Name: "ready", Data: scores[0]}, plan.Check)
	if err != nil {
		b.Fatal(err)
	}
	pool, err := pool.New(pool.Config{Size: 2}, engine, nil, nil)
	if err != nil {
		b.Fatal(err)
	}
	for name, config := range map[string]func(testing.TB) store.Config{
		"sqlite":   func(b testing.TB) store.Config { return store.Config{Dir: b.TempDir()} },
		"postgres": func(b testing.TB) store.Config { return store.Config{URL: storetest.EmptyPostgres(b)} },
	} {
		b.Run("batch/"+name, func(b *testing.B) { batchOf(b, config(b), pool, 32, scores) })
		for _, chunk := range []int{1, 8, 32} {
			b.Run(fmt.Sprintf("database/%s/chunk=%d", name, chunk), func(b *testing.B) {
				batchOf(b, config(b), answered{ready}, chunk, scores)
			})
		}
	}
}

// answered gives every score the same answer.
type answered struct{ *answer.Answer }

func (a answered) Do(context.Context, worker.Input, request.Plan) (*answer.Answer, error) {
	return a.Answer, nil
}

// marking is a batch that marks its scores.
func marking(b *testing.B) *request.Batch {
	var r request.Batch
	if err := request.Bind(&r, request.Values{"marks": {Text: "true"}}); err != nil {
		b.Fatal(err)
	}
	return &r
}

func batchOf(b *testing.B, c store.Config, pool batch.Pool, chunk int, scores [][]byte) {
	data := storetest.Open(b, c)
	service, err := batch.Open(b.Context(), batch.Config{
		Store: data, Pool: pool, Workers: 2, Version: "test", ChunkScores: chunk, Logger: slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	if err == nil {
		err = service.Start(b.Context())
	}
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = service.Stop(context.WithoutCancel(b.Context())) }()
	before, err := data.Size(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	begun := processor(b)
	made, err := service.Create(b.Context(), batch.Order{
		Organization: store.SingleUser, Request: marking(b), Items: different(scores, b.N),
	})
	watch := service.Watch(made.ID)
	defer watch.End()
	for err == nil {
		changed := watch.Changed()
		var status *batch.Status
		if status, err = service.Status(b.Context(), store.SingleUser, made.ID); err == nil && status.State == store.BatchFinished {
			break
		}
		<-changed
	}
	if err != nil {
		b.Fatal(err)
	}
	b.StopTimer()
	cpu(b, begun)
	after, err := data.Size(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(after-before)/float64(b.N), "stored-bytes/score")
}

func cpu(b *testing.B, begun time.Duration) {
	b.Helper()
	b.ReportMetric((processor(b)-begun).Seconds()*1000/float64(b.N), "cpu-ms/score")
}
