package batch_test

import (
	"strings"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
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
