package batch_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"

	"github.com/prometheus/client_golang/prometheus"
)

func numbersOf(results []store.Result) (numbers []int64) {
	for i := range results {
		numbers = append(numbers, results[i].Number)
	}
	return numbers
}

func TestScoresAreDeleted(t *testing.T) {
	for _, test := range []struct {
		name string
		why  string
		// when brings the batch of five scores into a state.
		when func(b *bench) (id string)
	}{
		{"finished", "answers that are there go", func(b *bench) string {
			b.start()
			id := b.create(asked("marks", "true"), "1", "2", "3", "4", "5").ID
			b.wait(id, store.BatchFinished)
			return id
		}},
		{"before work", "what waits is never begun", func(b *bench) string {
			return b.create(asked("marks", "true"), "1", "2", "3", "4", "5").ID
		}},
		{"while worked on", "the answer that comes afterwards is dropped", func(b *bench) string {
			b.pool.hold = make(chan struct{})
			b.start()
			id := b.create(asked("marks", "true"), "1", "2", "3", "4", "5").ID
			time.Sleep(200 * time.Millisecond) // both workers hold a chunk now
			return id
		}},
		{"canceled", "nothing has to wait", func(b *bench) string {
			id := b.create(asked("marks", "true"), "1", "2", "3", "4", "5").ID
			must(b.Cancel(b.Context(), org, id))(b.T)
			return id
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, c store.Config) {
				b := newBench(t, c, nil)
				id := test.when(b)
				before := must(b.Status(t.Context(), org, id))(t)
				for _, n := range []int64{1, 4} {
					if err := b.DeleteScore(t.Context(), org, id, n); err != nil {
						t.Fatalf("%s: %v", test.why, err)
					}
				}
				switch {
				case before.State == store.BatchCanceled:
					must(b.Resume(t.Context(), org, id))(t)
					b.start()
				case b.pool.hold != nil:
					close(b.pool.hold)
				case before.State == store.BatchClosed:
					b.start()
				}
				after := b.wait(id, store.BatchFinished)
				if after.Counts != (store.Counts{Total: 3, Done: 3}) {
					t.Errorf("%s: %+v", test.why, after.Counts)
				}
				if got := numbersOf(b.results(id)); !slices.Equal(got, []int64{2, 3, 5}) {
					t.Errorf("%s: answered are %v", test.why, got)
				}
				if test.name == "before work" && b.pool.asked("1")+b.pool.asked("4") != 0 {
					t.Errorf("%s: it was", test.why)
				}
				for _, n := range []int64{1, 4, 9} {
					if _, err := b.Result(t.Context(), org, id, n); !errors.Is(err, store.ErrNotFound) {
						t.Errorf("score %d is still there: %v", n, err)
					}
					if err := b.DeleteScore(t.Context(), org, id, n); !errors.Is(err, store.ErrNotFound) {
						t.Errorf("score %d deleted again: %v", n, err)
					}
				}
				_, used, err := b.Usage(t.Context(), org)
				if err != nil || used.Scores != 3 || used.Bytes != after.Bytes {
					t.Errorf("used are %+v of a batch of %d bytes, %v", used, after.Bytes, err)
				}
				events, _, err := b.Events(t.Context(), org, id, 0, 100)
				deleted := 0
				for _, e := range events {
					if e.Kind == store.EventDeleted {
						deleted++
					}
				}
				if err != nil || deleted != 2 {
					t.Errorf("%d deletions are told, %v", deleted, err)
				}
			})
		})
	}
}

// A batch that waits for nothing but a deleted score is finished by that.
func TestLastWaitingScoreIsDeleted(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		id := b.create(asked(), "1").ID
		if err := b.DeleteScore(t.Context(), org, id, 1); err != nil {
			t.Fatal(err)
		}
		if s := b.wait(id, store.BatchFinished); s.Total != 0 {
			t.Errorf("%+v", s.Counts)
		}
	})
}

func TestNumbersOfDeletedScoresAreNotGivenAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		id := must(b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Items: scores("1", "2"), Open: true}))(t).ID
		if err := b.DeleteScore(t.Context(), org, id, 2); err != nil {
			t.Fatal(err)
		}
		key := batch.Key{Value: "once", Fingerprint: "the same"}
		in := worker.Input{Name: "3.musicxml", Data: []byte("3")}
		for range 2 {
			if n := must(b.Add(t.Context(), org, id, in, key))(t); n != 3 {
				t.Errorf("the next score is number %d", n)
			}
		}
	})
}

// A batch that cannot be deleted keeps no other from it.
func TestOneBatchThatStaysKeepsNoOther(t *testing.T) {
	registry := prometheus.NewRegistry()
	b := newBench(t, store.Config{Dir: t.TempDir()}, func(c *batch.Config) {
		c.KeepFor, c.Metrics = time.Second, batch.NewMetrics(registry)
	})
	first, second, third := b.create(asked(), "1").ID, b.create(asked(), "2").ID, b.create(asked(), "3").ID
	b.exec(`CREATE TRIGGER stays BEFORE DELETE ON batches WHEN OLD.id = '` + second + `' BEGIN SELECT RAISE(ABORT, 'it stays'); END`)
	// An answer that comes before the look for old batches would make its batch a young one.
	for _, id := range []string{first, second, third} {
		must(b.Cancel(t.Context(), org, id))(t)
	}
	b.exec(`UPDATE batches SET created = 1`)
	b.exec(`UPDATE events SET created = 1`)
	b.start()
	for until := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		gone := 0
		for _, id := range []string{first, third} {
			if _, err := b.Status(b.Context(), org, id); errors.Is(err, store.ErrNotFound) {
				gone++
			}
		}
		if stuck := gauge(t, registry, "partwright_batches_undeletable"); gone == 2 && stuck == 1 {
			return
		} else if time.Now().After(until) {
			t.Fatalf("%d of the other two are gone, %v cannot be deleted", gone, stuck)
		}
	}
}

// gauge reads a metric without labels.
func gauge(t *testing.T, registry *prometheus.Registry, name string) float64 {
	t.Helper()
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		if f.GetName() == name {
			return f.GetMetric()[0].GetGauge().GetValue()
		}
	}
	t.Fatalf("there is no metric %s", name)
	return 0
}
