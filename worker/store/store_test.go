package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// fixture is a store with shorter calls.
type fixture struct {
	*testing.T
	*store.Store
}

func (f fixture) write(do func(context.Context, store.Tx) error) {
	f.Helper()
	if err := f.Write(f.Context(), func(tx store.Tx) error { return do(f.Context(), tx) }); err != nil {
		f.Fatal(err)
	}
}

func (f fixture) create(scores ...string) *store.Batch {
	f.Helper()
	var b *store.Batch
	f.write(func(ctx context.Context, tx store.Tx) (err error) {
		b, err = f.CreateBatch(ctx, tx, store.SingleUser, []byte(`{"marks":true}`))
		return err
	})
	return f.add(b.ID, scores...)
}

func (f fixture) add(id string, scores ...string) *store.Batch {
	f.Helper()
	var members []store.NewMember
	for i, s := range scores {
		members = append(members, store.NewMember{Name: fmt.Sprintf("%d.musicxml", i+1), Score: store.NewScore([]byte(s))})
	}
	if err := f.CarryMembers(f.Context(), store.SingleUser, members); err != nil {
		f.Fatal(err)
	}
	return f.change(id, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		_, err := f.AddMembers(ctx, tx, b, members)
		return err
	})
}

func (f fixture) change(id string, do func(context.Context, store.Tx, *store.Batch) error) *store.Batch {
	f.Helper()
	var b *store.Batch
	f.write(func(ctx context.Context, tx store.Tx) (err error) {
		b, err = f.Change(ctx, tx, store.SingleUser, id, func(b *store.Batch) error { return do(ctx, tx, b) })
		return err
	})
	return b
}

// answer saves a result and tells whether it was taken.
func (f fixture) answer(id string, r store.NewResult) (taken bool) {
	f.Helper()
	results := []store.NewResult{r}
	if err := f.CarryResults(f.Context(), store.SingleUser, results); err != nil {
		f.Fatal(err)
	}
	f.change(id, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		all, err := f.SaveResults(ctx, tx, b, results...)
		taken = len(all) == 1
		return err
	})
	return taken
}

func report(text string) store.NewResult {
	return store.NewResult{Engine: "test", Report: store.Pack([]byte(text))}
}

func numbered(number int64, r store.NewResult) store.NewResult {
	r.Number = number
	return r
}

func TestMemberIsAnsweredOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two")
		if b.Total != 2 || b.Waiting != 2 {
			t.Fatalf("counts are %+v", b.Counts)
		}
		if !f.answer(b.ID, numbered(1, report("first"))) {
			t.Error("the first answer was not taken")
		}
		if f.answer(b.ID, numbered(1, report("second"))) {
			t.Error("a second answer was taken")
		}
		b = f.change(b.ID, func(_ context.Context, _ store.Tx, b *store.Batch) error {
			b.State = store.BatchClosed
			return nil
		})
		if b.State != store.BatchClosed {
			t.Errorf("the batch is %s while a score waits", b.State)
		}
		f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Problem: []byte(`{"code":"no-root-element"}`)})
		results := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 10, Reports: true})
		if len(results) != 2 {
			t.Fatalf("%d results", len(results))
		}
		text, err := results[0].Report.Unpack()
		if err != nil || string(text) != "first" || results[0].State != store.MemberDone || results[0].Name != "1.musicxml" {
			t.Errorf("got %q, %v, %+v", text, err, results[0])
		}
		if string(results[1].Problem) != `{"code":"no-root-element"}` || results[1].Report != nil || results[1].State != store.MemberFailed {
			t.Errorf("got %+v", results[1])
		}
		f.read(func(ctx context.Context, tx store.Tx) error {
			b, err := store.BatchByID(ctx, tx, store.SingleUser, b.ID)
			if err == nil && (b.State != store.BatchFinished || b.Finished.IsZero() || b.Done != 1 || b.Failed != 1 || b.Waiting != 0) {
				t.Errorf("in the end the batch is %+v", b)
			}
			return err
		})
	})
}

func (f fixture) read(do func(context.Context, store.Tx) error) {
	f.Helper()
	if err := f.Read(f.Context(), func(tx store.Tx) error { return do(f.Context(), tx) }); err != nil {
		f.Fatal(err)
	}
}

func (f fixture) results(q store.ResultQuery) (page []store.Result) {
	f.Helper()
	f.read(func(ctx context.Context, tx store.Tx) (err error) {
		page, err = store.Results(ctx, tx, q)
		return err
	})
	return page
}

func TestPagesHoldEveryResultOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("1", "2", "3", "4", "5")
		for _, number := range []int64{5, 1, 4, 2} {
			f.answer(b.ID, store.NewResult{Number: number, Engine: "test", Report: store.Pack([]byte("r")), Marked: store.Pack([]byte("m"))})
		}
		var seen []int64
		for after := int64(0); ; {
			page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, After: after, Limit: 3, Marked: true})
			if len(page) == 0 {
				break
			}
			for _, r := range page {
				if marked, err := r.Marked.Unpack(); err != nil || string(marked) != "m" {
					t.Errorf("marked score %q, %v", marked, err)
				}
				seen = append(seen, r.Number)
			}
			after = page[len(page)-1].Number
		}
		if fmt.Sprint(seen) != "[1 2 4 5]" {
			t.Errorf("pages held %v", seen)
		}
	})
}

// Each part of an answer comes back as it was kept, where it is asked for and nowhere
// else.
func TestPartsOfAnAnswer(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one")
		part := func(text string) store.Blob { return store.Pack([]byte(text)) }
		f.answer(b.ID, store.NewResult{
			Number: 1, Engine: "test", Recipe: "a recipe", Report: part("report"), Marked: part("marked"),
			Analysis: part("analysis"), Mending: part("mending"), Voicing: part("voicing"),
		})
		parts := func(r *store.Result) map[string]store.Blob {
			return map[string]store.Blob{
				"report": r.Report, "marked": r.Marked, "analysis": r.Analysis, "mending": r.Mending, "voicing": r.Voicing,
			}
		}
		hold := func(r *store.Result, wanted ...string) {
			t.Helper()
			for name, blob := range parts(r) {
				text, err := blob.Unpack()
				if slices.Contains(wanted, name) && string(text) != name || !slices.Contains(wanted, name) && text != nil || err != nil {
					t.Errorf("asked for %v: the %s is %q, %v", wanted, name, text, err)
				}
			}
		}
		q := store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 1}
		for name, wanted := range map[string]*bool{
			"report": &q.Reports, "marked": &q.Marked, "analysis": &q.Analyses, "mending": &q.Mendings, "voicing": &q.Voicings,
		} {
			*wanted = true
			hold(&f.results(q)[0], name)
			*wanted = false
		}
		f.read(func(ctx context.Context, tx store.Tx) error {
			one, err := store.ResultOf(ctx, tx, store.SingleUser, b.ID, 1)
			if err == nil {
				hold(one, "report", "marked", "analysis", "mending", "voicing")
				one, err = store.EarlierResult(ctx, tx, store.SingleUser, store.NewScore([]byte("one")).Hash, "a recipe", "")
			}
			if err == nil {
				hold(one, "report", "marked", "analysis", "mending", "voicing")
			}
			return err
		})
	})
}

func TestCanceledTakesNoAnswerAndResumes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two", "three")
		f.answer(b.ID, numbered(2, report("kept")))
		b = f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
			b.State = store.BatchCanceled
			return store.CancelWaiting(ctx, tx, b)
		})
		if b.Canceled != 2 || b.Waiting != 0 || b.Done != 1 {
			t.Errorf("after canceling: %+v", b.Counts)
		}
		if f.answer(b.ID, numbered(1, report("late"))) {
			t.Error("a canceled score took an answer")
		}
		b = f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
			b.State = store.BatchOpen
			return store.ResumeCanceled(ctx, tx, b)
		})
		if b.Waiting != 2 || !f.answer(b.ID, numbered(1, report("again"))) {
			t.Errorf("after resuming: %+v", b.Counts)
		}
	})
}

func TestOnlyFailedAreRetried(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two")
		f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
			_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{Name: "broken.mxl", Engine: "test", Problem: []byte(`{"code":"archive"}`)}})
			return err
		})
		f.answer(b.ID, numbered(1, report("good")))
		f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Problem: []byte(`{}`)})
		var pending []store.Span
		b = f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
			n, err := store.RetryFailed(ctx, tx, b)
			if n != 1 {
				t.Errorf("%d retried; the file that could not be unpacked cannot be", n)
			}
			if err == nil {
				pending, err = store.Pending(ctx, tx, b)
			}
			return err
		})
		if b.Waiting != 1 || b.Failed != 1 || b.Done != 1 || fmt.Sprint(pending) != "[{2 3}]" {
			t.Errorf("counts %+v, pending %v", b.Counts, pending)
		}
		if !f.answer(b.ID, numbered(2, report("better"))) {
			t.Error("a retried score took no answer")
		}
	})
}

func TestSameScoreIsKeptOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		first, second := f.create("same", "same", "own"), f.create("same")
		if err := f.DeleteBatch(t.Context(), store.SingleUser, first.ID); err != nil {
			t.Fatal(err)
		}
		f.read(func(ctx context.Context, tx store.Tx) error {
			kept, err := store.Waiting(ctx, tx, store.SingleUser, second.ID, 1, 10)
			if err != nil || len(kept) != 1 {
				t.Fatalf("%v, %v", kept, err)
			}
			data, err := kept[0].Score.Unpack()
			if string(data) != "same" || kept[0].Size != 4 {
				t.Errorf("the other batch lost its score: %q", data)
			}
			return err
		})
		// SHA-256 of "abc": FIPS 180-4 example, as published by NIST.
		if h := store.NewScore([]byte("abc")).Hash; h != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
			t.Errorf("hash %s", h)
		}
	})
}

func TestForeignOrganizationFindsNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two") // the second still waits: there is a score to keep from others
		f.answer(b.ID, numbered(1, report("secret")))
		const other = "other"
		f.read(func(ctx context.Context, tx store.Tx) error {
			if _, err := store.BatchByID(ctx, tx, other, b.ID); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("batch: %v", err)
			}
			if all, err := store.Batches(ctx, tx, other, "", 10); len(all) != 0 || err != nil {
				t.Errorf("list: %v, %v", all, err)
			}
			if page, err := store.Results(ctx, tx, store.ResultQuery{Organization: other, Batch: b.ID, Limit: 10}); len(page) != 0 || err != nil {
				t.Errorf("results: %v, %v", page, err)
			}
			if events, err := store.Events(ctx, tx, other, b.ID, 0, 10); len(events) != 0 || err != nil {
				t.Errorf("events: %v, %v", events, err)
			}
			if waiting, err := store.Waiting(ctx, tx, other, b.ID, 1, 10); len(waiting) != 0 || err != nil {
				t.Errorf("scores: %v, %v", waiting, err)
			}
			return nil
		})
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, err := f.Change(t.Context(), tx, other, b.ID, func(*store.Batch) error { return nil })
			return err
		})
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("change: %v", err)
		}
		err = f.DeleteBatch(t.Context(), other, b.ID)
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("delete: %v", err)
		}
	})
}

func TestEventsGoOnAfterTheLastSeen(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one")
		for range 3 {
			f.change(b.ID, func(_ context.Context, _ store.Tx, b *store.Batch) error {
				b.Tell(store.EventAnswered)
				return nil
			})
		}
		f.read(func(ctx context.Context, tx store.Tx) error {
			events, err := store.Events(ctx, tx, store.SingleUser, b.ID, 1, 10)
			if len(events) != 2 || events[0].ID != 2 || events[1].ID != 3 || events[0].Counts.Total != 1 || events[0].State != store.BatchOpen {
				t.Errorf("events %+v", events)
			}
			return err
		})
	})
}

func TestFailedTransactionLeavesNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one")
		stop := errors.New("stop")
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, err := f.Change(t.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
				_, err := f.SaveResults(t.Context(), tx, b, numbered(1, report("r")))
				return err
			})
			return errors.Join(err, stop)
		})
		if !errors.Is(err, stop) {
			t.Fatal(err)
		}
		if page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 10, Reports: true}); len(page) != 0 {
			t.Errorf("a result stayed: %+v", page)
		}
	})
}

func TestIdempotencyKeys(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		f.write(func(ctx context.Context, tx store.Tx) error {
			if _, err := store.Remembered(ctx, tx, store.SingleUser, "k", "a"); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("an unknown key: %v", err)
			}
			if first, err := f.Remember(ctx, tx, store.SingleUser, "k", "a", "answer"); !first || err != nil {
				t.Errorf("first: %v, %v", first, err)
			}
			if again, err := f.Remember(ctx, tx, store.SingleUser, "k", "a", "other"); again || err != nil {
				t.Errorf("again: %v, %v", again, err)
			}
			if answer, err := store.Remembered(ctx, tx, store.SingleUser, "k", "a"); answer != "answer" || err != nil {
				t.Errorf("remembered %q, %v", answer, err)
			}
			if _, err := store.Remembered(ctx, tx, store.SingleUser, "k", "b"); !errors.Is(err, store.ErrKeyReused) {
				t.Errorf("another request: %v", err)
			}
			if n, err := store.ForgetKeys(ctx, tx, time.Now().Add(time.Hour)); n != 1 || err != nil {
				t.Errorf("forgot %d, %v", n, err)
			}
			return nil
		})
	})
}

func TestWorkersNotSeenAreNotAlive(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		f.write(func(ctx context.Context, tx store.Tx) error {
			if err := errors.Join(f.Beat(ctx, tx, "a"), f.Beat(ctx, tx, "b"), f.Beat(ctx, tx, "a"), store.Leave(ctx, tx, "b")); err != nil {
				return err
			}
			since, err := f.SeenSince(ctx, tx, time.Minute)
			if err != nil {
				return err
			}
			var alive, late []string
			seen := func(since int64, ids *[]string) error {
				return store.Each(ctx, tx, func(scan store.Scan) error {
					var id string
					err := scan(&id)
					*ids = append(*ids, id)
					return err
				}, "SELECT id FROM workers WHERE seen >= $1", since)
			}
			if err := errors.Join(seen(since, &alive), seen(since+(2*time.Minute).Microseconds(), &late)); err != nil {
				return err
			}
			if fmt.Sprint(alive) != "[a]" {
				t.Errorf("alive are %v", alive)
			}
			if len(late) != 0 {
				t.Errorf("alive are %v, of whom none was seen in time", late)
			}
			return err
		})
	})
}

func TestDataOutliveTheProcess(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one")
		f.answer(b.ID, numbered(1, report("kept")))
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		f = fixture{t, storetest.Open(t, c)}
		if page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 10, Reports: true}); len(page) != 1 {
			t.Errorf("%d results after opening again", len(page))
		}
	})
}

func TestSecondProcessIsRefused(t *testing.T) {
	c := store.Config{Dir: filepath.Join(t.TempDir(), "data")}
	first := storetest.Open(t, c)
	_, err := store.Open(t.Context(), c)
	if !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), c.Dir) {
		t.Errorf("the second got %v", err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	storetest.Open(t, c)
}

func TestDataDirectoryIsTheOperatorsAlone(t *testing.T) {
	dir := t.TempDir() // which others may read
	s, err := store.Open(t.Context(), store.Config{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	files, err := os.ReadDir(dir)
	if err != nil || len(files) < 2 {
		t.Fatalf("the directory holds %v (%v)", files, err)
	}
	for _, f := range files {
		if info, err := f.Info(); err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s is open to others: %v (%v)", f.Name(), info.Mode(), err)
		}
	}
}

func TestUnusableDataDirectorySaysWhatToDo(t *testing.T) {
	for _, c := range []struct {
		why  string
		put  func(file string) error
		want string
	}{
		{"no database", func(file string) error { return os.WriteFile(file, []byte(strings.Repeat("no database ", 100)), 0o600) }, "restore a back-up"},
		{"cannot be opened", func(file string) error { return os.Mkdir(file, 0o700) }, "check its owner, permissions and disk"},
	} {
		dir := t.TempDir()
		if err := c.put(filepath.Join(dir, "partwright.db")); err != nil {
			t.Fatal(err)
		}
		_, err := store.Open(t.Context(), store.Config{Dir: dir})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), dir) {
			t.Errorf("%s: got %v", c.why, err)
		}
	}
}

func TestDataOfALaterVersionAreLeftAlone(t *testing.T) {
	c := store.Config{Dir: t.TempDir()}
	s := storetest.Open(t, c)
	if _, err := s.SQLite().Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, 1)"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Open(t.Context(), c); !errors.Is(err, store.ErrNewer) {
		t.Errorf("got %v", err)
	}
}

func TestConfigThatCannotBeMeant(t *testing.T) {
	for _, c := range []store.Config{{}, {Dir: t.TempDir(), URL: "postgres://localhost/x"}} {
		if _, err := store.Open(t.Context(), c); err == nil {
			t.Errorf("%+v was opened", c)
		}
	}
}

// Any answer to the score will do, or one that came under the name that is asked for,
// however many came under others before it.
func TestEarlierAnswerUnderAName(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("same", "same", "same")
		for n := range int64(3) {
			r := numbered(n+1, report("a report"))
			r.Recipe = "strict"
			f.answer(b.ID, r)
		}
		hash := store.NewScore([]byte("same")).Hash
		for _, test := range []struct{ recipe, name, want string }{
			{"strict", "1.musicxml", "1.musicxml"}, {"strict", "3.musicxml", "3.musicxml"},
			{"strict", "4.musicxml", ""}, {"free", "", ""}, {"free", "1.musicxml", ""},
		} {
			var got string
			f.read(func(ctx context.Context, tx store.Tx) error {
				r, err := store.EarlierResult(ctx, tx, store.SingleUser, hash, test.recipe, test.name)
				if err == nil {
					got = r.Name
				} else if errors.Is(err, store.ErrNotFound) {
					err = nil
				}
				return err
			})
			if got != test.want {
				t.Errorf("by %s under %q: %q, want %q", test.recipe, test.name, got, test.want)
			}
		}
	})
}
