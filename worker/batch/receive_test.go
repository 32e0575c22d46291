package batch_test

import (
	"errors"
	"testing"

	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Of a batch that is deleted while its scores come nothing is left, and who sends them
// is told.
func TestBatchThatIsDeletedWhileItsScoresCome(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		_, err := b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Items: func(yield func(files.Item) bool) {
			for item := range scores(texts(200)...) {
				if !yield(item) {
					return
				}
				for _, half := range must(b.List(t.Context(), org, "", 10))(t) {
					if half.Total > 0 {
						if err := b.Delete(t.Context(), org, half.ID); err != nil {
							t.Error(err)
						}
					}
				}
			}
		}})
		if !errors.Is(err, batch.ErrGivenUp) {
			t.Errorf("the error is %v", err)
		}
		if all := must(b.List(t.Context(), org, "", 10))(t); len(all) != 0 {
			t.Errorf("%d batches are left", len(all))
		}
	})
}
