package batch_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// slowPool takes as long for a score that says "slow" as nobody lets it go on.
type slowPool struct {
	begun chan string // the names of slow scores
	goOn  chan struct{}

	mu    sync.Mutex
	order []string
}

func (p *slowPool) Do(ctx context.Context, in worker.Input, _ request.Plan) (*answer.Answer, error) {
	if strings.Contains(string(in.Data), "slow") {
		p.begun <- in.Name
		select {
		case <-p.goOn:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	p.mu.Lock()
	p.order = append(p.order, in.Name)
	p.mu.Unlock()
	return &answer.Answer{Report: &report.Report{File: in.Name, Summary: report.Summary{ByRule: map[string]int{}}}}, nil
}

// A single score is answered while every worker is held by chunks of a batch whose scores
// take for ever.
func TestSingleScoresDoNotWaitForChunks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := &slowPool{begun: make(chan string, 10), goOn: make(chan struct{})}
		b := newBench(t, c, func(config *batch.Config) { config.Pool = p })
		b.start()
		slow := b.create(asked(), "slow 1", "slow 2", "slow 3", "slow 4", "slow 5", "slow 6")
		<-p.begun
		<-p.begun // both workers are held
		open := must(b.Create(t.Context(), batch.Order{Organization: org, Open: true}))(t)
		for _, name := range []string{"a.musicxml", "b.musicxml"} {
			if _, err := b.Add(t.Context(), org, open.ID, worker.Input{Name: name, Data: []byte(name)}, batch.Key{}); err != nil {
				t.Fatal(err)
			}
		}
		b.until("the single scores are answered", func() bool { return must(b.Status(t.Context(), org, open.ID))(t).Done == 2 })
		close(p.goOn)
		b.wait(slow.ID, store.BatchFinished)
	})
}

// until waits for something.
func (b *bench) until(what string, done func() bool) {
	b.Helper()
	for end := time.Now().Add(20 * time.Second); !done(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			b.Fatalf("it does not come to pass that %s", what)
		}
	}
}

// A chunk that takes too long lets a more urgent one begin before the rest of it, which
// keeps its place before those that came later.
func TestChunksEndInTime(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := &slowPool{begun: make(chan string, 10), goOn: make(chan struct{})}
		b := newBench(t, c, func(config *batch.Config) {
			config.Pool, config.Workers, config.ChunkScores, config.ChunkTime = p, 1, 1000, time.Nanosecond
		})
		b.start()
		archive := make([]string, 101) // more than a small order
		for i := range archive {
			archive[i] = fmt.Sprintf("slow %d", i)
		}
		first := b.create(asked(), archive...)
		<-p.begun
		later := b.create(asked(), archive...)
		small := must(b.Create(t.Context(), batch.Order{Organization: org, Items: func(yield func(files.Item) bool) {
			_ = yield(files.Item{Name: "small/1", Read: func() ([]byte, error) { return []byte("1"), nil }}) &&
				yield(files.Item{Name: "small/2", Read: func() ([]byte, error) { return []byte("2"), nil }})
		}}))(t)
		p.goOn <- struct{}{}
		b.wait(small.ID, store.BatchFinished)
		if done := must(b.Status(t.Context(), org, first.ID))(t).Done; done > 2 {
			t.Errorf("the small batch waited for %d scores of the archive", done)
		}
		go func() {
			for range p.begun {
			}
		}()
		close(p.goOn)
		b.wait(first.ID, store.BatchFinished)
		if status := must(b.Status(t.Context(), org, later.ID))(t); status.Done > 1 {
			t.Errorf("of the later archive %d scores were answered before the first was done", status.Done)
		}
		b.wait(later.ID, store.BatchFinished)
		close(p.begun)
	})
}

// What a batch took stands in its answer and, with its id, in the log: when work on it
// began and what took the time, and nothing of its scores.
func TestLogTellsOfBatches(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := &slowPool{begun: make(chan string, 10), goOn: make(chan struct{})}
		var log lockedBuffer
		b := newBench(t, c, func(config *batch.Config) { config.Pool, config.Logger = p, slog.New(slog.NewJSONHandler(&log, nil)) })
		made := b.create(asked(), "one", "two", "slow", "broken")
		if status := must(b.Status(t.Context(), org, made.ID))(t); status.Waited <= 0 || status.Worked != 0 {
			t.Errorf("before work begins it waited %s, and was worked on for %s", status.Waited, status.Worked)
		}
		b.start()
		<-p.begun
		time.Sleep(50 * time.Millisecond)
		close(p.goOn)
		status := b.wait(made.ID, store.BatchFinished)
		if status.Worked < 50*time.Millisecond || status.Slowest < 50*time.Millisecond || status.SlowestNumber != 3 || status.Waited <= 0 {
			t.Errorf("worked %s, slowest %s of score %d, waited %s", status.Worked, status.Slowest, status.SlowestNumber, status.Waited)
		}
		var lines []map[string]any
		for line := range bytes.Lines(log.bytes()) {
			var said map[string]any
			if err := json.Unmarshal(line, &said); err != nil {
				t.Fatal(err)
			}
			if said["batch"] == made.ID {
				lines = append(lines, said)
			}
		}
		if len(lines) != 2 || lines[0]["msg"] != "a batch is begun" || lines[1]["msg"] != "a batch is finished" {
			t.Fatalf("the log says %v", lines)
		}
		end := lines[1]
		if end["scores"] != 4.0 || end["slowest_score"] != 3.0 || end["worked_seconds"].(float64) < 0.05 || end["mostly"] == "" {
			t.Errorf("the last line is %v", end)
		}
		if strings.Contains(string(log.bytes()), "musicxml") {
			t.Error("the log has the name of a score")
		}
	})
}

// lockedBuffer is written to by several goroutines.
type lockedBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *lockedBuffer) bytes() []byte {
	b.mu.Lock()
	defer b.mu.Unlock()
	return bytes.Clone(b.text.Bytes())
}

// Answers are in the folder before all are there.
func TestAnswersAreWrittenAsTheyCome(t *testing.T) {
	p := &slowPool{begun: make(chan string, 10), goOn: make(chan struct{})}
	b := newBench(t, store.Config{Dir: t.TempDir()}, func(config *batch.Config) { config.Pool, config.ChunkTime = p, time.Nanosecond })
	b.start()
	made := b.create(asked(), "1", "2", "3", "slow", "5", "6", "7", "8")
	dir, err := files.OpenOutDir(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = dir.Close() }()
	<-p.begun
	var seen []string
	for w, err := range b.WriteFolder(t.Context(), org, made.ID, dir, 2) {
		if err != nil {
			t.Fatal(err)
		}
		if w.Failure != nil {
			t.Fatal(w.Failure)
		}
		seen = append(seen, "one more")
		if len(seen) == 3 {
			for _, name := range []string{"class/1", "class/2", "class/3"} {
				if _, err := dir.ReadFile(name + answer.FindingsSuffix); err != nil {
					t.Errorf("before the fourth is answered: %v", err)
				}
			}
			if status := must(b.Status(t.Context(), org, made.ID))(t); status.State == store.BatchFinished {
				t.Error("the batch is finished already")
			}
			close(p.goOn)
		}
	}
	if len(seen) != 8 {
		t.Errorf("%d answers were written of 8", len(seen))
	}
	for i := range 8 {
		if _, err := dir.ReadFile(fmt.Sprintf("class/%d%s", i+1, answer.FindingsSuffix)); err != nil {
			t.Error(err)
		}
	}
}
