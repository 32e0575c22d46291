package batch_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/queue"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

const org = store.SingleUser

// pool answers at once: a score that says "broken" cannot be read, under one that says
// "panics" it panics, any other gets a report whose title is its text.
type stubPool struct {
	mu    sync.Mutex
	count map[string]int
	// labels are the names of those that came with scores.
	labels map[string]string
	// hold, if set, is waited for before every answer.
	hold chan struct{}
	// mended makes broken scores readable.
	mended bool
}

func (p *stubPool) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	switch plan := plan.(type) {
	case *request.CheckPlan:
		return p.check(ctx, in, plan)
	case *request.MendPlan:
		return p.mend(in)
	}
	return nil, fmt.Errorf("there is no answer to a %T", plan)
}

func (p *stubPool) check(ctx context.Context, in worker.Input, plan *request.CheckPlan) (*answer.Answer, error) {
	p.mu.Lock()
	hold := p.hold
	p.mu.Unlock()
	if hold != nil {
		select {
		case <-hold:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.count == nil {
		p.count = map[string]int{}
	}
	p.count[string(in.Data)]++
	if in.Labels != nil {
		p.labels = map[string]string{string(in.Data): in.Labels.File}
	}
	if strings.Contains(string(in.Data), "panics") {
		panic(string(in.Data))
	}
	if strings.Contains(string(in.Data), "broken") && !p.mended {
		return nil, &musicxml.InputError{Code: "no-root-element", File: in.Name, Line: 7, Problem: "The file is empty.", Advice: "Export it again."}
	}
	a := &answer.Answer{Report: &report.Report{
		File: in.Name, Score: report.Score{Title: string(in.Data)},
		Findings: []report.Finding{{Rule: "parallel-fifths", Family: "consecutives", Severity: "fault"}},
		Summary:  report.Summary{Faults: 1, ByRule: map[string]int{"parallel-fifths": 1}},
	}}
	if plan.Marks {
		a.AddScore(answer.Marked, 0, append([]byte("marked "), in.Data...))
	}
	return a, nil
}

// mend takes too long for a score that says "endless".
func (p *stubPool) mend(in worker.Input) (*answer.Answer, error) {
	if strings.Contains(string(in.Data), "endless") {
		return nil, stage.ErrDeadline
	}
	a := &answer.Answer{Report: &report.Mending{File: in.Name, Before: 1}}
	a.AddScore(answer.Mended, 0, append([]byte("mended "), in.Data...))
	a.AddScore(answer.Mended, 1, []byte{0, 1, 2})
	return a, nil
}

func (p *stubPool) labeled(score string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.labels[score]
}

func (p *stubPool) asked(score string) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.count[score]
}

// asked is a batch of which pairs of a field and its text are said.
func asked(pairs ...string) *request.Batch {
	said, b := request.Values{}, &request.Batch{}
	for i := 0; i < len(pairs); i += 2 {
		said[pairs[i]] = request.Source{Name: pairs[i], Text: pairs[i+1]}
	}
	if err := request.Bind(b, said); err != nil {
		panic(err) // a mistake in a test
	}
	return b
}

type bench struct {
	*testing.T
	*batch.Service
	store *store.Store
	pool  *stubPool
}

func newBench(t *testing.T, c store.Config, change func(*batch.Config)) *bench {
	t.Helper()
	b := &bench{T: t, store: storetest.Open(t, c), pool: &stubPool{}}
	config := batch.Config{
		Store: b.store, Pool: b.pool, Workers: 2, Version: "test", ChunkScores: 2, Search: true,
		Queue: queue.Config{FetchPoll: 20 * time.Millisecond},
	}
	if change != nil {
		change(&config)
	}
	var err error
	if b.Service, err = batch.Open(t.Context(), config); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *bench) start() {
	b.Helper()
	if err := b.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := b.Stop(ctx); err != nil {
			b.Error(err)
		}
	})
}

// scores are items whose names are their numbers and whose texts are given.
func scores(texts ...string) iter.Seq[files.Item] {
	return func(yield func(files.Item) bool) {
		for i, text := range texts {
			name := fmt.Sprintf("class/%d.musicxml", i+1)
			if !yield(files.Item{Name: name, Read: func() ([]byte, error) { return []byte(text), nil }}) {
				return
			}
		}
	}
}

func (b *bench) create(r *request.Batch, texts ...string) *store.Batch {
	b.Helper()
	made, err := b.Create(b.Context(), batch.Order{Organization: org, Request: r, Items: scores(texts...)})
	if err != nil {
		b.Fatal(err)
	}
	return made
}

// wait returns the batch once it is in a state. It gives up where nothing is answered any
// more: how long all takes is the machine's.
func (b *bench) wait(id string, state store.BatchState) *batch.Status {
	b.Helper()
	const stalled = 20 * time.Second
	until, waiting := time.After(stalled), int64(-1)
	watch := b.Watch(id)
	defer watch.End()
	for {
		changed := watch.Changed()
		status, err := b.Status(b.Context(), org, id)
		if err != nil {
			b.Fatal(err)
		}
		if status.State == state {
			return status
		}
		if status.Waiting != waiting {
			until, waiting = time.After(stalled), status.Waiting
		}
		select {
		case <-changed:
		case <-time.After(50 * time.Millisecond):
		case <-until:
			b.Fatalf("the batch is %s: %+v", status.State, status.Counts)
		}
	}
}

func (b *bench) results(id string) []store.Result {
	b.Helper()
	page, err := b.Results(b.Context(), store.ResultQuery{Organization: org, Batch: id, Limit: 1000, Reports: true, Marked: true})
	if err != nil {
		b.Fatal(err)
	}
	return page
}

func must[T any](value T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return value
	}
}

func TestEveryScoreIsAnswered(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		made := b.create(asked("marks", "true"), "one", "two", "broken", "four", "five")
		status := b.wait(made.ID, store.BatchFinished)
		if status.Done != 4 || status.Failed != 1 || status.Total != 5 {
			t.Errorf("counts %+v", status.Counts)
		}
		for i, r := range b.results(made.ID) {
			if want := fmt.Sprintf("class/%d.musicxml", i+1); r.Name != want || r.Number != int64(i+1) {
				t.Errorf("answer %d is of %s", r.Number, r.Name)
			}
			if i == 2 {
				var f report.Failure
				if err := json.Unmarshal(r.Problem, &f); err != nil || f.Code != "no-root-element" || f.Line != 7 || r.State != store.MemberFailed {
					t.Errorf("the broken score: %s, %v", r.Problem, err)
				}
				continue
			}
			var report report.Report
			text := must(r.Report.Unpack())(t)
			if err := json.Unmarshal(text, &report); err != nil || report.File != r.Name || report.Score.Title == "" {
				t.Errorf("report %s, %v", text, err)
			}
			if marked := must(r.Marked.Unpack())(t); string(marked) != "marked "+report.Score.Title {
				t.Errorf("the marked score of %s is %s", report.Score.Title, marked)
			}
		}
	})
}

func TestCanceledAndResumed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.pool.hold = make(chan struct{})
		b.start()
		made := b.create(asked(), "1", "2", "3", "4", "5", "6", "7")
		canceled := must(b.Cancel(t.Context(), org, made.ID))(t)
		if canceled.State != store.BatchCanceled || canceled.Canceled != 7 {
			t.Fatalf("canceled: %s, %+v", canceled.State, canceled.Counts)
		}
		close(b.pool.hold) // what was being worked on comes too late
		time.Sleep(100 * time.Millisecond)
		if status := b.wait(made.ID, store.BatchCanceled); status.Done != 0 {
			t.Errorf("%d scores of a canceled batch were answered", status.Done)
		}
		must(b.Resume(t.Context(), org, made.ID))(t)
		if status := b.wait(made.ID, store.BatchFinished); status.Done != 7 || len(b.results(made.ID)) != 7 {
			t.Errorf("resumed: %+v", status.Counts)
		}
		if _, err := b.Cancel(t.Context(), org, made.ID); !errors.Is(err, batch.ErrState) {
			t.Errorf("canceling a finished batch: %v", err)
		}
		if _, err := b.Resume(t.Context(), org, made.ID); !errors.Is(err, batch.ErrState) {
			t.Errorf("resuming a finished batch: %v", err)
		}
	})
}

func TestRetryWorksOnTheFailedOnly(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		made := b.create(asked(), "good", "broken")
		b.wait(made.ID, store.BatchFinished)
		b.pool.mu.Lock()
		b.pool.mended = true
		b.pool.mu.Unlock()
		must(b.Retry(t.Context(), org, made.ID))(t)
		if status := b.wait(made.ID, store.BatchFinished); status.Done != 2 || status.Failed != 0 {
			t.Errorf("retried: %+v", status.Counts)
		}
		if n := b.pool.asked("good"); n != 1 {
			t.Errorf("the good score was checked %d times", n)
		}
	})
}

// An organization that sends an archive score by score gets no more of the work than
// one that sends an archive whole, once as many wait as make one.
func TestManySingleScoresLeaveRoomForAnArchive(t *testing.T) {
	if testing.Short() {
		t.Skip("sends hundreds of scores one by one")
	}
	const singles, whole = 300, 102
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		var other *store.Organization
		err := b.store.Write(t.Context(), func(tx store.Tx) (err error) {
			other, err = b.store.CreateOrganization(t.Context(), tx, "other", store.Quotas{})
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		open := must(b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Open: true}))(t)
		for i := range singles {
			text := fmt.Sprint("single ", i)
			must(b.Add(t.Context(), org, open.ID, worker.Input{Name: text, Data: []byte(text)}, batch.Key{}))(t)
		}
		texts := make([]string, whole)
		for i := range texts {
			texts[i] = fmt.Sprint("archive ", i)
		}
		archive := must(b.Create(t.Context(), batch.Order{Organization: other.ID, Request: asked(), Items: scores(texts...)}))(t)
		b.start()
		must(b.Close(t.Context(), org, open.ID))(t)
		b.wait(open.ID, store.BatchFinished)
		answers := must(b.Results(t.Context(), store.ResultQuery{Organization: other.ID, Batch: archive.ID, Limit: whole}))(t)
		if len(answers) != whole {
			t.Fatalf("when the single scores were done the archive had %d answers of %d", len(answers), whole)
		}
		var last time.Time
		for i := range answers {
			if answers[i].Finished.After(last) {
				last = answers[i].Finished
			}
		}
		before := 0
		for _, r := range b.results(open.ID) {
			if r.Finished.Before(last) {
				before++
			}
		}
		// 101 were urgent; of the rest as many as the archive has.
		if before < 101 || before > 101+whole+10 {
			t.Errorf("%d single scores went before the end of an archive of %d", before, whole)
		}
	})
}

// Copies of a score lie side by side in an archive, and so in one job.
func TestCopiesInOneJobAreCheckedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, func(c *batch.Config) { c.ChunkScores = 8 })
		b.start()
		copies := b.create(asked(), "same", "same", "another", "same")
		b.wait(copies.ID, store.BatchFinished)
		if n := b.pool.asked("same"); n != 1 {
			t.Errorf("copies in one job were checked %d times", n)
		}
		for i, want := range []bool{false, true, false, true} {
			if got := b.results(copies.ID)[i].Reused; got != want {
				t.Errorf("score %d reused: %v, want %v", i+1, got, want)
			}
		}
	})
}

func TestSameScoreAndOptionsAreCheckedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		first := b.create(asked("marks", "true"), "same")
		b.wait(first.ID, store.BatchFinished)
		second := b.create(asked("marks", "true"), "new", "same")
		b.wait(second.ID, store.BatchFinished)
		if n := b.pool.asked("same"); n != 1 {
			t.Errorf("checked %d times", n)
		}
		r := b.results(second.ID)[1]
		text := string(must(r.Report.Unpack())(t))
		if !r.Reused || !strings.HasPrefix(text, `{"file":"class/2.musicxml",`) || !strings.Contains(text, `"title":"same"`) || r.Marked == nil {
			t.Errorf("reused %v: %s", r.Reused, text)
		}
		third := b.create(asked("marks", "true", "fixes", "1"), "same")
		b.wait(third.ID, store.BatchFinished)
		if n := b.pool.asked("same"); n != 2 {
			t.Errorf("with other options it was checked %d times in all", n)
		}
	})
}

func TestAddedOneByOne(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		made := must(b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Open: true}))(t)
		add := func(text, key, fingerprint string) (int64, error) {
			return b.Add(t.Context(), org, made.ID, worker.Input{Name: text, Data: []byte(text)}, batch.Key{Value: key, Fingerprint: fingerprint})
		}
		first := must(add("one", "k1", "f1"))(t)
		again := must(add("one", "k1", "f1"))(t)
		second := must(add("two", "k2", "f2"))(t)
		if first != 1 || again != 1 || second != 2 {
			t.Errorf("numbers %d, again %d, %d", first, again, second)
		}
		if _, err := add("other", "k1", "f3"); !errors.Is(err, store.ErrKeyReused) {
			t.Errorf("the same key with another score: %v", err)
		}
		must(b.Close(t.Context(), org, made.ID))(t)
		if status := b.wait(made.ID, store.BatchFinished); status.Total != 2 || status.Done != 2 {
			t.Errorf("counts %+v", status.Counts)
		}
		if _, err := add("late", "k4", "f4"); !errors.Is(err, batch.ErrClosed) {
			t.Errorf("adding to a closed batch: %v", err)
		}
		if n := must(add("one", "k1", "f1"))(t); n != 1 {
			t.Errorf("asked again after closing: %d", n)
		}
	})
}

func TestSameOrderMakesOneBatch(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		order := batch.Order{Organization: org, Request: asked(), Items: scores("one"), Key: batch.Key{Value: "k", Fingerprint: "f"}}
		first := must(b.Create(t.Context(), order))(t)
		again := must(b.Create(t.Context(), order))(t)
		if first.ID != again.ID {
			t.Error("the same order made two batches")
		}
		order.Key.Fingerprint = "other"
		if _, err := b.Create(t.Context(), order); !errors.Is(err, store.ErrKeyReused) {
			t.Errorf("the same key with another order: %v", err)
		}
	})
}

// An upload that breaks off leaves no batch: its sender never heard of it.
func TestBrokenUploadLeavesNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		ctx, cancel := context.WithCancel(t.Context())
		items := func(yield func(files.Item) bool) {
			for item := range scores(make([]string, 200)...) {
				if item.Name == "class/150.musicxml" {
					cancel()
				}
				if !yield(item) {
					return
				}
			}
		}
		if _, err := b.Create(ctx, batch.Order{Organization: org, Request: asked(), Items: items}); !errors.Is(err, context.Canceled) {
			t.Fatalf("got %v", err)
		}
		if all := must(b.List(t.Context(), org, "", 10))(t); len(all) != 0 {
			t.Errorf("%d batches are left", len(all))
		}
		// The same if the process ends.
		err := b.store.Write(t.Context(), func(tx store.Tx) error {
			if b.store.SQLite() != nil { // seen just now, and gone: nobody else can have the directory
				if err := b.store.Beat(t.Context(), tx, "a worker that is gone"); err != nil {
					return err
				}
			}
			_, err := b.store.CreateUpload(t.Context(), tx, org, "a worker that is gone", json.RawMessage(`{}`))
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		b.start()
		for until := time.Now().Add(10 * time.Second); len(must(b.List(t.Context(), org, "", 10))(t)) != 0; time.Sleep(10 * time.Millisecond) {
			if time.Now().After(until) {
				t.Fatal("the batch of a process that is gone is still there")
			}
		}
	})
}

// A score under which the process ends each time fails in the end; its neighbors
// are answered.
func TestScoreThatEndsTheProcessFailsAlone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		made := b.create(asked(), "fine", "deadly")
		err := b.store.Write(t.Context(), func(tx store.Tx) error {
			_, err := store.Exec(t.Context(), tx, `UPDATE river_job SET attempt = 6`)
			if err == nil {
				_, err = store.Exec(t.Context(), tx, `UPDATE members SET begun = 3 WHERE number = 2`)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		b.start()
		if status := b.wait(made.ID, store.BatchFinished); status.Done != 1 || status.Failed != 1 {
			t.Errorf("counts %+v", status.Counts)
		}
		if b.pool.asked("deadly") != 0 || b.pool.asked("fine") != 1 {
			t.Error("the deadly score was begun once more, or the other was not")
		}
	})
}

func TestEventsTellTheStory(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		b := newBench(t, c, nil)
		b.start()
		made := b.create(asked(), "one")
		b.wait(made.ID, store.BatchFinished)
		events, more, err := b.Events(t.Context(), org, made.ID, 0, 100)
		if err != nil || more {
			t.Fatalf("more %v, %v", more, err)
		}
		var kinds []string
		for i, e := range events {
			kinds = append(kinds, string(e.Kind))
			if e.ID != int64(i+1) {
				t.Errorf("event %d has the id %d", i+1, e.ID)
			}
		}
		story := strings.Join(kinds, " ")
		// The answer may come before or after the end of the upload.
		if story != "scores-added batch-closed scores-answered batch-finished" && story != "scores-added scores-answered batch-closed batch-finished" {
			t.Errorf("story: %s", story)
		}
	})
}

func TestDownloads(t *testing.T) {
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	b.start()
	made := b.create(asked("marks", "true"), "one", "broken", "three")
	b.wait(made.ID, store.BatchFinished)
	var lines, marked, statistics bytes.Buffer
	ctx := t.Context()
	if err := errors.Join(
		b.WriteNDJSON(ctx, org, made.ID, &lines), b.WriteMarked(ctx, org, made.ID, &marked), b.WriteFindingStatistics(ctx, org, made.ID, &statistics),
	); err != nil {
		t.Fatal(err)
	}
	d := json.NewDecoder(&lines)
	for _, want := range []string{"class/1.musicxml", "", "class/3.musicxml"} {
		var line struct {
			File    string
			Failure *report.Failure
		}
		if err := d.Decode(&line); err != nil || line.File != want || (line.Failure == nil) != (want != "") {
			t.Errorf("line %+v, %v; want %q", line, err, want)
		}
	}
	z := must(zip.NewReader(bytes.NewReader(marked.Bytes()), int64(marked.Len())))(t)
	if len(z.File) != 2 || z.File[0].Name != "class/1.marked.musicxml" || z.File[1].Name != "class/3.marked.musicxml" {
		t.Errorf("files %v", z.File)
	}
	text := must(io.ReadAll(must(z.Open("class/3.marked.musicxml"))(t)))(t)
	if string(text) != "marked three" {
		t.Errorf("marked score %q", text)
	}
	want := "rule,family,severity,findings,scores\n(checked),,,,2\n(failed),,,,1\nparallel-fifths,consecutives,fault,2,2\n"
	if statistics.String() != want {
		t.Errorf("statistics:\n%s", statistics.String())
	}
}

func TestForeignBatchIsNotFound(t *testing.T) {
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	made := b.create(asked(), "one")
	ctx := t.Context()
	errs := map[string]error{"delete": b.Delete(ctx, "other", made.ID)}
	_, errs["status"] = b.Status(ctx, "other", made.ID)
	_, errs["close"] = b.Close(ctx, "other", made.ID)
	_, errs["cancel"] = b.Cancel(ctx, "other", made.ID)
	_, errs["resume"] = b.Resume(ctx, "other", made.ID)
	_, errs["retry"] = b.Retry(ctx, "other", made.ID)
	_, errs["add"] = b.Add(ctx, "other", made.ID, worker.Input{}, batch.Key{})
	_, _, errs["events"] = b.Events(ctx, "other", made.ID, 0, 10)
	_, errs["results"] = b.Results(ctx, store.ResultQuery{Organization: "other", Batch: made.ID, Limit: 10})
	_, errs["result"] = b.Result(ctx, "other", made.ID, 1)
	errs["findings"] = b.WriteNDJSON(ctx, "other", made.ID, io.Discard)
	errs["marked"] = b.WriteMarked(ctx, "other", made.ID, io.Discard)
	for what, err := range errs {
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func TestWhatCannotBePlannedIsRefused(t *testing.T) {
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	for field, text := range map[string]string{"language": "xx", "own_rule_set": "[", "own_rubric": "[", "accepted": "["} {
		var refused *request.Error
		order := batch.Order{Organization: org, Request: asked(field, text)}
		if _, err := b.Create(t.Context(), order); !errors.As(err, &refused) || refused.Field != field {
			t.Errorf("%s %s: %v", field, text, err)
		}
	}
	for field, text := range map[string]string{"rule_set": "none", "rubric": "none", "annotate": "numbers", "given": "perhaps"} {
		var refused *request.Error
		err := request.Bind(&request.Batch{}, request.Values{field: {Text: text}})
		if !errors.As(err, &refused) || refused.Field != field {
			t.Errorf("%s %s: %v", field, text, err)
		}
	}
	if all := must(b.List(t.Context(), org, "", 10))(t); len(all) != 0 {
		t.Errorf("%d batches were made", len(all))
	}
}

func TestArchiveItems(t *testing.T) {
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for name, text := range map[string]string{"alto/1.musicxml": "<score-partwise/>"} {
		w := must(z.Create(name))(t)
		must(w.Write([]byte(text)))(t)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	for item := range (&files.Archive{Content: bytes.NewReader(packed.Bytes()), Size: int64(packed.Len())}).Items() {
		if data, err := item.Read(); item.Name != "alto/1.musicxml" || string(data) != "<score-partwise/>" || err != nil {
			t.Errorf("%+v, %q, %v", item, data, err)
		}
	}
}
