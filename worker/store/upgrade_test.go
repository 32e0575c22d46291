package store_test

import (
	"context"
	"os"
	"slices"
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Data of every earlier version are read by this one: what was answered, what
// waits, and what comes next.
func TestDataOfEarlierVersionsAreRead(t *testing.T) {
	files, err := os.ReadDir("migrations")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d migrations, %v", len(files), err)
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "another", "a third")
		f.answer(b.ID, numbered(1, report("a report")))
		waiting := func() (numbers []int64) {
			f.read(func(ctx context.Context, tx store.Tx) error {
				members, err := store.Waiting(ctx, tx, store.SingleUser, b.ID, 1, 3)
				for _, m := range members {
					numbers = append(numbers, m.Number)
				}
				return err
			})
			return numbers
		}
		for version := len(files) - 1; version >= 1; version-- {
			f.backTo(int64(version))
			if err := f.Close(); err != nil {
				t.Fatal(err)
			}
			f = fixture{t, storetest.Open(t, c)}
			page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 10, Reports: true})
			if len(page) != 1 {
				t.Fatalf("from version %d: %d results", version, len(page))
			}
			if text, err := page[0].Report.Unpack(); err != nil || string(text) != "a report" {
				t.Errorf("from version %d: the report is %q, %v", version, text, err)
			}
			if got := waiting(); !slices.Equal(got, []int64{2, 3}) {
				t.Errorf("from version %d: %v wait", version, got)
			}
		}
		f.answer(b.ID, numbered(2, report("the next")))
		if got := waiting(); !slices.Equal(got, []int64{3}) {
			t.Errorf("after the next answer %v wait", got)
		}
		if b := f.add(b.ID, "a fourth"); b.Last != 4 {
			t.Errorf("the next score is number %d", b.Last)
		}
	})
}
