package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Many who save into one batch at once, some of them the same answers, save each once; the
// counts and what was found are those of all.
func TestAnswersSavedAtOnceAreCountedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		const savers, each = 8, 10
		var members []string
		for i := range savers * each {
			members = append(members, fmt.Sprintf("score %d", i))
		}
		b := f.create(members...)
		found := foundLike(rand.New(rand.NewPCG(5, 6)), "a") // #nosec G404 -- repeatable
		var all sync.WaitGroup
		for s := range 2 * savers { // each chunk twice
			all.Go(func() {
				var results []store.NewResult
				for i := range int64(each) {
					results = append(results, store.NewResult{Number: int64(s%savers*each) + i + 1, Engine: "test", Report: store.Pack([]byte("x")), Found: found})
				}
				f.write(func(ctx context.Context, tx store.Tx) error {
					_, _, err := f.SaveAnswers(ctx, tx, store.SingleUser, b.ID, results)
					return err
				})
			})
		}
		all.Wait()
		f.read(func(ctx context.Context, tx store.Tx) (err error) {
			b, err = store.BatchByID(ctx, tx, store.SingleUser, b.ID)
			return err
		})
		if b.Done != savers*each || b.Waiting != 0 || !b.Searched {
			t.Errorf("%+v, searched %v", b.Counts, b.Searched)
		}
		if n := len(f.results(store.ResultQuery{Organization: store.SingleUser, Batch: b.ID, Limit: 1000})); n != savers*each {
			t.Errorf("%d results", n)
		}
		if n := f.counts(store.Find{Kind: store.FoundFindings}, "rule").Total; n != int64(savers*each*len(found.Findings)) {
			t.Errorf("%d findings are counted, want %d", n, savers*each*len(found.Findings))
		}
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, _, err := f.SaveAnswers(t.Context(), tx, store.SingleUser, "none", []store.NewResult{{Number: 1}})
			return err
		})
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("into a batch that is not there: %v", err)
		}
	})
}

// A version that writes no rows may answer beside this one: once the batch is finished, it
// is known that rows are missing.
func TestRowsThatAnotherVersionLeftOutAreMissed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for _, missing := range []bool{false, true} {
			f := fixture{t, storetest.Open(t, c)}
			b := f.create("one", "two")
			found := foundLike(rand.New(rand.NewPCG(5, 6)), "a") // #nosec G404 -- repeatable
			f.answer(b.ID, store.NewResult{Number: 1, Engine: "test", Report: store.Pack([]byte("x")), Found: found})
			if missing {
				f.exec(`DELETE FROM found_scores WHERE batch_id = '` + b.ID + `'`)
			}
			f.change(b.ID, func(_ context.Context, _ store.Tx, b *store.Batch) error { b.State = store.BatchClosed; return nil })
			f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Report: store.Pack([]byte("y")), Found: found})
			f.read(func(ctx context.Context, tx store.Tx) error {
				if _, err := store.Unsearched(ctx, tx); missing != (err == nil) {
					t.Errorf("rows are missing: %v; asked for a batch, %v", missing, err)
				}
				return nil
			})
			if err := f.Close(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
