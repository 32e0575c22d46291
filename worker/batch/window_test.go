package batch_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// handing answers as the pool of stubs does, several scores to a hand-over, in turn.
type handing struct {
	*stubPool
	mu sync.Mutex
	// sizes are how many scores were handed over together.
	sizes []int
}

func (h *handing) Together() (do func(context.Context, worker.Input, request.Plan) (*answer.Answer, error), end func()) {
	var turn sync.Mutex
	count := 0
	return func(ctx context.Context, in worker.Input, plan request.Plan) (a *answer.Answer, err error) {
			turn.Lock()
			defer turn.Unlock()
			count++
			ctx, stop := stage.Run(ctx)
			defer stop()
			time.Sleep(time.Millisecond) // others come meanwhile
			err = stage.Guard("", func() error {
				a, err = h.Do(ctx, in, plan)
				return err
			})
			return a, err
		}, func() {
			h.mu.Lock()
			defer h.mu.Unlock()
			h.sizes = append(h.sizes, count)
		}
}

// Scores of a batch that are handed over together are answered as one by one: each once,
// in its place, the same one from the first of its kind, and the one that fails alone.
func TestScoresHandedOverTogether(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		h := &handing{}
		b := newBench(t, c, func(config *batch.Config) {
			h.stubPool = config.Pool.(*stubPool)
			p, err := pool.New(pool.Config{Size: 2}, h, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			config.Pool, config.ChunkScores = p, 32
		})
		b.start()
		var texts []string
		for i := range 40 {
			texts = append(texts, fmt.Sprintf("score %d", i))
		}
		texts[5], texts[6], texts[9] = "broken", "panics", "score 4"
		texts[12] = "large " + strings.Repeat("x", 100<<10)
		texts[30] = "score 0"
		made := b.create(asked(), texts...)
		status := b.wait(made.ID, store.BatchFinished)
		if status.Done != 38 || status.Failed != 2 {
			t.Errorf("counts %+v", status.Counts)
		}
		results := b.results(made.ID)
		if len(results) != len(texts) {
			t.Fatalf("%d answers to %d scores", len(results), len(texts))
		}
		for i, r := range results {
			if i == 5 || i == 6 {
				if r.Problem == nil {
					t.Errorf("score %d has no problem", i)
				}
				continue
			}
			var said report.Report
			if err := json.Unmarshal(must(r.Report.Unpack())(t), &said); err != nil || said.Score.Title != texts[i] || said.File != r.Name {
				t.Errorf("answer %d is to %.20s in %s: %v", i, said.Score.Title, said.File, err)
			}
		}
		for i, text := range texts {
			if n := b.pool.asked(text); n != 1 {
				t.Errorf("score %d was checked %d times", i, n)
			}
		}
		h.mu.Lock()
		defer h.mu.Unlock()
		most := 0
		for _, n := range h.sizes {
			most = max(most, n)
		}
		if most < 2 || most > pool.MostTogether {
			t.Errorf("the scores were handed over %v at a time", h.sizes)
		}
	})
}
