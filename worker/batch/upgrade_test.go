package batch_test

import (
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// What waited in the queue of an earlier version is worked on by this one.
func TestJobsOfEarlierVersionsAreWorkedOn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for version := storetest.Versions(t) - 1; version >= 1; version-- {
			before := newBench(t, c, nil)
			all := texts(5)
			made := before.create(asked("marks", "true"), all...)
			storetest.BackTo(t, before.store, version)
			if err := before.store.Close(); err != nil {
				t.Fatal(err)
			}
			t.Run("", func(t *testing.T) {
				after := newBench(t, c, nil)
				after.start()
				after.answeredOnce(made.ID, all)
			})
		}
	})
}
