package store_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A batch whose deletion has begun is found by nobody, and what is left of it goes
// whenever somebody goes on.
func TestDeletionGoesInSteps(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		texts := make([]string, 1200)
		for i := range texts {
			texts[i] = fmt.Sprint(i)
		}
		b, other := f.create(texts...), f.create("1", "a score of its own")
		f.answer(b.ID, numbered(1, report("an answer")))
		f.exec(`UPDATE batches SET deleted = 1 WHERE id = '` + b.ID + `'`) // a process ended here

		for name, look := range map[string]func(context.Context, store.Tx) error{
			"the batch": func(ctx context.Context, tx store.Tx) error {
				_, err := store.BatchByID(ctx, tx, store.SingleUser, b.ID)
				return err
			},
			"an answer": func(ctx context.Context, tx store.Tx) error {
				_, err := store.ResultOf(ctx, tx, store.SingleUser, b.ID, 1)
				return err
			},
			"a change": func(ctx context.Context, tx store.Tx) error {
				_, err := f.Change(ctx, tx, store.SingleUser, b.ID, func(*store.Batch) error { return nil })
				return err
			},
		} {
			if err := f.Write(t.Context(), func(tx store.Tx) error { return look(t.Context(), tx) }); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("%s: %v", name, err)
			}
		}
		if err := f.DeleteBatch(t.Context(), store.SingleUser, b.ID); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("deleted again: %v", err)
		}
		var begun []*store.Batch
		f.read(func(ctx context.Context, tx store.Tx) (err error) {
			begun, err = store.Deletions(ctx, tx, 10)
			return err
		})
		if len(begun) != 1 || begun[0].ID != b.ID {
			t.Fatalf("deletions that have begun: %+v", begun)
		}
		if err := f.FinishDeletion(t.Context(), store.SingleUser, b.ID); err != nil {
			t.Fatal(err)
		}
		if scores, members, results := f.kept(); scores != 2 || members != 2 || results != 0 {
			t.Errorf("left are %d scores, %d members, %d results: the other batch has two scores", scores, members, results)
		}
		if err := f.FinishDeletion(t.Context(), store.SingleUser, b.ID); err != nil {
			t.Errorf("finished again: %v", err)
		}
		if err := f.DeleteBatch(t.Context(), store.SingleUser, other.ID); err != nil {
			t.Error(err)
		}
	})
}
