package batch_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/settings"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func (b *bench) mending(id string, number int64) *batch.Further {
	b.Helper()
	return must(batch.MendingOf(must(b.Result(b.Context(), org, id, number))(b.T)))(b.T)
}

func TestScoresAreMended(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		made := b.create(asked("mend", "true", "alternatives", "2"), "one", "endless", "broken")
		status := b.wait(made.ID, store.BatchFinished)
		if status.Done != 2 || status.Failed != 1 {
			t.Errorf("%+v: a score that cannot be mended was checked all the same", status.Counts)
		}
		files := must(b.mending(made.ID, 1).Answer.All())(t)
		var endings []string
		for _, f := range files {
			endings = append(endings, f.Suffix)
		}
		if !slices.Equal(endings, []string{".mending.json", ".mended.musicxml", ".mended-2.musicxml"}) || string(files[1].Data) != "mended one" {
			t.Errorf("files %v", endings)
		}
		if m := b.mending(made.ID, 2); m.Answer != nil || m.Problem == nil || m.Problem.Code != "timeout" {
			t.Errorf("the endless one: %+v", m)
		}
		if b.mending(made.ID, 3) != nil {
			t.Error("a broken score was mended")
		}

		// What failed for want of time is tried again, what was mended is not.
		again := b.create(asked("mend", "true", "alternatives", "2"), "endless", "one")
		b.wait(again.ID, store.BatchFinished)
		results := b.results(again.ID)
		if results[0].Reused || !results[1].Reused {
			t.Errorf("reused: %t, %t", results[0].Reused, results[1].Reused)
		}
		reused := b.mending(again.ID, 2).Answer
		if m, ok := reused.Report.(*report.Mending); !ok || m.File != "class/2.musicxml" || m.Before != 1 {
			t.Errorf("the mending that was reused is %+v", reused.Report)
		}
		if got := must(reused.All())(t); len(got) != len(files) || string(got[1].Data) != "mended one" || !bytes.Equal(got[2].Data, []byte{0, 1, 2}) {
			t.Errorf("the files that were reused are %v", got)
		}
	})
}

// Labels reach the engine under their name, and go with their score.
func TestLabelsComeWithScores(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		labels := must(settings.ReadLabels("one.rntxt", []byte("m1 C: I b3 V")))(t)
		items := func(yield func(files.Item) bool) {
			yield(files.Item{
				Name: "one.musicxml", Place: "elsewhere/one", Read: func() ([]byte, error) { return []byte("one"), nil },
				Labels: func() (*settings.Labels, error) { return labels, nil },
			})
			_ = yield(files.Item{
				Name: "two.musicxml", Read: func() ([]byte, error) { return []byte("two"), nil },
				Labels: func() (*settings.Labels, error) { return settings.ReadLabels("two.rntxt", []byte("nothing")) },
			}) && yield(files.Item{Name: "one.rntxt", Skipped: "no score", Expected: true}) && yield(files.Item{Name: "a.pdf", Skipped: "no score"})
		}
		made := must(b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Items: items}))(t)
		status := b.wait(made.ID, store.BatchFinished)
		if status.Done != 1 || status.Failed != 1 || status.Skipped != 1 {
			t.Errorf("%+v, %d skipped", status.Counts, status.Skipped)
		}
		results := b.results(made.ID)
		if got := b.pool.labeled("one"); got != "one.rntxt" {
			t.Errorf("the engine got the labels %q", got)
		}
		if place := batch.PlaceOf(&results[0]); place != "elsewhere/one" {
			t.Errorf("the answer belongs to %s", place)
		}
		var f report.Failure
		if err := json.Unmarshal(results[1].Problem, &f); err != nil || f.Code != "unreadable-labels" {
			t.Errorf("labels that cannot be read: %s", results[1].Problem)
		}
	})
}

// Answers that took long are not kept from their owner until the chunk is done.
func TestSlowChunksAreSavedMeanwhile(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, func(config *batch.Config) { config.ChunkTime, config.ChunkScores = time.Nanosecond, 32 })
		b.pool.hold = make(chan struct{})
		b.start()
		made := b.create(asked(), "1", "2", "3")
		for done := int64(1); done <= 2; done++ {
			b.pool.hold <- struct{}{}
			for until := time.Now().Add(10 * time.Second); must(b.Status(t.Context(), org, made.ID))(t).Done < done; {
				if time.Now().After(until) {
					t.Fatalf("%d are answered and not to be had", done)
				}
				time.Sleep(5 * time.Millisecond)
			}
		}
		close(b.pool.hold)
		b.wait(made.ID, store.BatchFinished)
	})
}
