package batch_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"

	"github.com/prometheus/client_golang/prometheus"
)

// exec changes the database behind the back of the service.
func (b *bench) exec(statement string, args ...any) {
	b.Helper()
	err := b.store.Write(b.Context(), func(tx store.Tx) error {
		_, err := store.Exec(b.Context(), tx, statement, args...)
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
}

// An error of ours on one score, which comes again however often it is tried, keeps no
// other score of its chunk waiting, and fails the one in the end.
func TestFaultOnOneScoreFailsItAlone(t *testing.T) {
	cases := []struct {
		why, text string
		spoil     func(*bench)
	}{
		{"what is stored cannot be unpacked", "spoiled", func(b *bench) {
			b.exec(`UPDATE scores SET packed = $1 WHERE hash = $2`, []byte("no archive"), store.NewScore([]byte("spoiled")).Hash)
		}},
		{"our code panics", "it panics", func(*bench) {}},
	}
	for _, c := range cases {
		t.Run(c.why, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, config store.Config) {
				b := newBench(t, config, func(c *batch.Config) { c.ChunkScores, c.Queue.Retry = 8, 20*time.Millisecond })
				all := []string{"one", c.text, "three", "four"}
				made := b.create(asked(), all...)
				c.spoil(b)
				b.start()
				status := b.wait(made.ID, store.BatchFinished)
				if status.Done != 3 || status.Failed != 1 {
					t.Fatalf("counts %+v", status.Counts)
				}
				answers := b.results(made.ID)
				for i, r := range answers {
					bad := all[i] == c.text
					if !bad && !r.Finished.Before(answers[1].Finished) {
						t.Errorf("%q waited for the one that failed", all[i])
					}
					if (r.Problem != nil) != bad {
						t.Errorf("the answer to %q has the problem %q", all[i], r.Problem)
					}
					if bad && (!strings.Contains(string(r.Problem), "error of the program") || strings.Contains(string(r.Problem), c.text)) {
						t.Errorf("the problem is %s", r.Problem)
					}
					if n := b.pool.asked(all[i]); !bad && n != 1 {
						t.Errorf("%q was worked on %d times", all[i], n)
					}
				}
			})
		})
	}
}

// Options that were valid for the version that took them may not be for the next one.
func TestOptionsThatAreNoLongerValidFailTheScores(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		made := b.create(asked(), "one", "two", "three")
		b.exec(`UPDATE batches SET options = $1`, `{"rule_set": "withdrawn"}`)
		b.start()
		if status := b.wait(made.ID, store.BatchFinished); status.Failed != 3 {
			t.Fatalf("counts %+v", status.Counts)
		}
		for _, r := range b.results(made.ID) {
			if !strings.Contains(string(r.Problem), `withdrawn`) {
				t.Errorf("the problem is %s", r.Problem)
			}
		}
	})
}

// A score that is gone from beside the database fails by name, and it alone; an answer that
// is gone is told where it is read, and is no earlier answer.
func TestGoneDocumentsAreNamed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		c.Blobs = t.TempDir()
		registry := prometheus.NewRegistry()
		b := newBench(t, c, func(c *batch.Config) { c.Metrics = batch.NewMetrics(registry) })
		remove := func(kind, hash string) {
			t.Helper()
			found, err := filepath.Glob(filepath.Join(c.Blobs, org, kind, "*", hash+"*"))
			if err != nil || len(found) == 0 {
				t.Fatalf("%d files, %v", len(found), err)
			}
			for _, file := range found {
				if err := os.Remove(file); err != nil {
					t.Fatal(err)
				}
			}
		}
		made := b.create(asked("marks", "true"), "one", "lost", "three")
		remove("scores", store.NewScore([]byte("lost")).Hash)
		b.start()
		if status := b.wait(made.ID, store.BatchFinished); status.Done != 2 || status.Failed != 1 {
			t.Fatalf("counts %+v", status.Counts)
		}
		if r := b.results(made.ID)[1]; !strings.Contains(string(r.Problem), `"stored-document-gone"`) {
			t.Errorf("the problem is %s", r.Problem)
		}
		remove("answers", "")
		if _, err := b.results(made.ID)[0].Report.Unpack(); !errors.Is(err, store.ErrBlobGone) {
			t.Errorf("an answer that is gone: %v", err)
		}
		again := b.create(asked("marks", "true"), "one", "three")
		if status := b.wait(again.ID, store.BatchFinished); status.Done != 2 || b.pool.asked("one") != 2 {
			t.Errorf("counts %+v; worked on %d times", status.Counts, b.pool.asked("one"))
		}
		// What is sent again is there again, in the batch before as well.
		for _, id := range []string{again.ID, made.ID} {
			if _, err := b.results(id)[0].Report.Unpack(); err != nil {
				t.Errorf("after it was sent again: %v", err)
			}
		}
		if whole := b.create(asked("marks", "true"), "lost"); b.wait(whole.ID, store.BatchFinished).Done != 1 {
			t.Error("a score that was lost is not taken again")
		}
		families, err := registry.Gather()
		for _, f := range families {
			if f.GetName() == "partwright_blobs_gone_total" && f.GetMetric()[0].GetCounter().GetValue() < 3 {
				t.Errorf("counted are %v", f.GetMetric()[0])
			}
		}
		if err != nil {
			t.Error(err)
		}
	})
}
