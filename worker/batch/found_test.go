package batch_test

import (
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Answers of a process that writes no rows get theirs from one that does, those that
// failed among them.
func TestEarlierAnswersGetTheirRows(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, func(c *batch.Config) { c.Search = false })
		id := b.create(asked(), "one", "two", "three").ID
		ctx := t.Context()
		if err := b.Start(ctx); err != nil {
			t.Fatal(err)
		}
		b.wait(id, store.BatchFinished)
		if err := b.Stop(ctx); err != nil {
			t.Fatal(err)
		}
		later, err := batch.Open(ctx, batch.Config{Store: b.store, Version: "test", Search: true})
		if err != nil {
			t.Fatal(err)
		}
		if err := later.Start(ctx); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = later.Stop(ctx) }()
		q := store.Find{Organization: store.SingleUser, Kind: store.FoundScores, Limit: 10}
		for until := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
			page, _, err := later.Ask(ctx, q, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			if len(page.Scores) == 3 {
				return
			}
			if time.Now().After(until) {
				t.Fatalf("%d of 3 scores have rows", len(page.Scores))
			}
		}
	})
}
