package batch_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A process is killed while it takes a batch in. The sender hears nothing and sends
// the same again with the same key: in the end there is one batch a key, with every
// score in it once, and nothing of those that were broken off.
func TestBrokenUploadIsSentAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		times, _ := kills(t)
		const scoresOf = 2000 // long enough to be in the middle of them
		receiver := &crew{T: t, role: role{Dir: c.Dir, URL: c.URL, Receive: scoresOf}}
		ids := map[int]string{}
		broken := 0
		for broken < times {
			receiver.Round++
			for ids[receiver.Round] == "" {
				cmd, out := receiver.start()
				late := time.Duration(30+rand.IntN(120)) * time.Millisecond
				if broken >= times {
					late = time.Minute // the last one is let end
				}
				killed := time.AfterFunc(late, func() { _ = cmd.Process.Kill() })
				if out.Scan() {
					ids[receiver.Round] = out.Text()
				} else {
					broken++
				}
				killed.Stop()
				_ = cmd.Process.Kill()
				_ = cmd.Wait()
			}
		}
		time.Sleep(fastQueue.Dead + fastQueue.Heartbeat) // until the last is missed

		b := newBench(t, c, func(c *batch.Config) { c.Queue, c.ChunkScores, c.Workers = fastQueue, 16, 2 })
		b.start()
		for round, id := range ids {
			r := receiver.role
			r.Round = round
			again := must(b.Create(t.Context(), r.order()))(t) // once more, though it was answered
			if again.ID != id {
				t.Fatalf("round %d was answered with the batch %s, then with %s", round, id, again.ID)
			}
			r.inspect(t, b.Service, b.wait(id, store.BatchFinished), scoresOf)
		}
		if left := batches(b); left != len(ids) {
			t.Errorf("%d batches, want %d: uploads that were broken off are still there", left, len(ids))
		}
		t.Logf("%d kills while %d batches of %d scores were taken in", broken, len(ids), scoresOf)
	})
}

// batches counts them, those that are being taken in among them.
func batches(b *bench) (n int) {
	b.Helper()
	err := b.store.Read(b.Context(), func(tx store.Tx) error {
		return store.Each(b.Context(), tx, func(scan store.Scan) error { return scan(&n) }, `SELECT count(*) FROM batches`)
	})
	if err != nil {
		b.Fatal(err)
	}
	return n
}
