package store_test

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

var counterSaves = flag.Int("counter-saves", 0, "measure how many answers one batch can take, by so many savings of 32 each")

// savedAtOnce is how many answers a chunk saves, as a rule.
const savedAtOnce = 32

// Answers to one batch are counted in one row. This measures what comes of it: savings by
// many workers into one batch, which is held from the beginning of each or only to count,
// beside savings into a batch each; in turns, since what else runs changes.
func TestManyWorkersSaveIntoOneBatch(t *testing.T) {
	if *counterSaves == 0 {
		t.Skip("measured where -counter-saves says how much")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		for _, workers := range []int{4, 16, 64} {
			for range 3 {
				t.Logf("%2d workers, answers a second: one batch held %6.0f, counted last %6.0f; a batch each %6.0f", workers,
					f.saves(workers, 1, *counterSaves, true), f.saves(workers, 1, *counterSaves, false), f.saves(workers, workers, *counterSaves, false))
			}
		}
	})
}

// saves has workers save answers as fast as they can, and returns how many a second.
func (f fixture) saves(workers, batches, saves int, held bool) float64 {
	f.Helper()
	var ids []string
	for range batches {
		var members []string
		for i := range saves * savedAtOnce / batches {
			members = append(members, fmt.Sprintf("score %d", i))
		}
		ids = append(ids, f.create(members...).ID)
	}
	part := make([]byte, 4000)
	for i := range part {
		part[i] = byte(rand.IntN(256)) // #nosec G404 -- bytes that cannot be packed
	}
	r := rand.New(rand.NewPCG(1, 2)) // #nosec G404 -- repeatable
	found := foundLike(r, "a")
	var next atomic.Int64
	var all sync.WaitGroup
	start := time.Now()
	for range workers {
		all.Go(func() {
			for {
				n := int(next.Add(1)) - 1
				if n >= saves/batches*batches {
					return
				}
				id, first := ids[n%batches], int64(n/batches*savedAtOnce)
				var results []store.NewResult
				for i := range int64(savedAtOnce) {
					results = append(results, store.NewResult{
						Number: first + i + 1, Engine: "test", Begun: time.Now(), Took: time.Millisecond,
						Report: store.Pack(fmt.Appendf(nil, "%s %d", part, first+i)), Found: found,
					})
				}
				f.write(func(ctx context.Context, tx store.Tx) error {
					if held {
						_, err := f.Change(ctx, tx, store.SingleUser, id, func(b *store.Batch) error {
							_, err := f.SaveResults(ctx, tx, b, results...)
							return err
						})
						return err
					}
					_, _, err := f.SaveAnswers(ctx, tx, store.SingleUser, id, results)
					return err
				})
			}
		})
	}
	all.Wait()
	return float64(saves/batches*batches*savedAtOnce) / time.Since(start).Seconds()
}
