package store_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// One adds a score while another deletes the last of its kind: both succeed, and
// what was added is there.
func TestScoreIsDeletedWhileItIsAddedElsewhere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		var batches [4]*store.Batch
		for i := range batches {
			batches[i] = f.create()
		}
		var all sync.WaitGroup
		until := time.Now().Add(time.Second)
		for i, b := range batches {
			all.Go(func() {
				for n := 0; time.Now().Before(until); n++ {
					err := f.Write(t.Context(), func(tx store.Tx) error {
						_, err := f.Change(t.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
							if n%2 == 1 {
								return store.DeleteMember(t.Context(), tx, b, b.Last)
							}
							_, err := f.AddMembers(t.Context(), tx, b, []store.NewMember{{Name: fmt.Sprint(i), Score: store.NewScore([]byte("the same"))}})
							return err
						})
						return err
					})
					if err != nil {
						t.Errorf("batch %d, step %d: %v", i, n, err)
						return
					}
				}
			})
		}
		all.Wait()
		scores, members, _ := f.kept()
		if want := min(members, 1); scores != want {
			t.Errorf("%d members, %d scores", members, scores)
		}
	})
}
