package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// blobs are the uses of what answers share, in order.
func (f fixture) blobs() (uses []int64) {
	f.Helper()
	f.read(func(ctx context.Context, tx store.Tx) error {
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var n int64
			err := scan(&n)
			uses = append(uses, n)
			return err
		}, `SELECT uses FROM blobs ORDER BY uses`)
	})
	return uses
}

// holdToUses counts what refers to each blob, and holds that to what is noted: neither one
// without its blob, nor a blob without a use.
func (f fixture) holdToUses() {
	f.Helper()
	counted, noted := map[string]int64{}, map[string]int64{}
	f.read(func(ctx context.Context, tx store.Tx) error {
		for _, part := range []string{"report", "marked", "analysis", "mending", "voicing"} {
			err := store.Each(ctx, tx, func(scan store.Scan) error {
				var organization string
				var name []byte
				err := scan(&organization, &name)
				counted[organization+string(name)]++
				return err
			}, `SELECT organization_id, `+part+` FROM results WHERE length(`+part+`) = 37`)
			if err != nil {
				return err
			}
		}
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var organization string
			var name []byte
			var uses int64
			err := scan(&organization, &name, &uses)
			noted[organization+string(name)] = uses
			return err
		}, `SELECT organization_id, name, uses FROM blobs`)
	})
	if fmt.Sprint(counted) != fmt.Sprint(noted) {
		f.Fatalf("uses are noted as %v, and are %v", noted, counted)
	}
}

// whole is an answer with all its parts.
func whole(number int64, text string) store.NewResult {
	part := func(of string) store.Blob { return store.Pack([]byte(of + " " + text)) }
	return store.NewResult{
		Number: number, Engine: "test", Report: part("report"), Marked: part("marked"), Analysis: part("analysis"), Mending: part("mending"), Voicing: part("voicing"),
	}
}

// holdToText reads the answers of a batch, whose parts tell the text.
func (f fixture) holdToText(id string, texts ...string) {
	f.Helper()
	page := f.results(store.ResultQuery{Batch: id, Organization: store.SingleUser, Limit: 100, Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true})
	if len(page) != len(texts) {
		f.Fatalf("%d answers", len(page))
	}
	for i := range page {
		r := &page[i]
		if err := f.Fetch(f.Context(), r.Blobs()...); err != nil {
			f.Fatal(err)
		}
		for kind, part := range map[string]store.Blob{"report": r.Report, "marked": r.Marked, "analysis": r.Analysis, "mending": r.Mending, "voicing": r.Voicing} {
			if text, err := part.Unpack(); err != nil || string(text) != kind+" "+texts[i] {
				f.Fatalf("%s of answer %d is %q, %v", kind, r.Number, text, err)
			}
		}
	}
}

// The same answer in another batch costs no further copy, and goes with the last that has
// it.
func TestAnswersAreKeptOnce(t *testing.T) {
	eachPlace(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		first, second := f.create("one", "two", "one again"), f.create("one")
		f.answer(first.ID, whole(1, "one"))
		f.answer(first.ID, whole(2, "two"))
		f.answer(first.ID, whole(3, "one"))
		f.answer(second.ID, whole(1, "one"))
		if uses := fmt.Sprint(f.blobs()); uses != "[1 1 1 1 1 3 3 3 3 3]" {
			t.Errorf("used are %s", uses)
		}
		f.holdToUses()
		f.holdToText(first.ID, "one", "two", "one")
		if err := f.DeleteBatch(t.Context(), store.SingleUser, first.ID); err != nil {
			t.Fatal(err)
		}
		if uses := fmt.Sprint(f.blobs()); uses != "[1 1 1 1 1]" {
			t.Errorf("after the first batch used are %s", uses)
		}
		f.holdToText(second.ID, "one")
		if b := f.remove(second.ID, 1); b.Bytes != 0 {
			t.Errorf("%d bytes are left", b.Bytes)
		}
		if uses := f.blobs(); uses != nil {
			t.Errorf("at last used are %v", uses)
		}
		f.holdToFiles(c)
	})
}

// Whatever is done in whatever order, what is noted as used is what is used.
func TestUsesAreCounted(t *testing.T) {
	eachPlace(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		random := rand.New(rand.NewPCG(18, 1)) // #nosec G404 -- a test that can be repeated
		var batches []string
		for step := range 150 {
			if len(batches) == 0 || random.IntN(8) == 0 {
				batches = append(batches, f.create("1", "2", "3", "4").ID)
			}
			at := random.IntN(len(batches))
			id, number := batches[at], int64(1+random.IntN(4))
			switch random.IntN(6) {
			case 0:
				f.change(id, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
					if err := store.DeleteMember(ctx, tx, b, number); err != nil && err != store.ErrNotFound { //nolint:errorlint // it is returned as it is
						return err
					}
					return nil
				})
			case 1:
				if random.IntN(3) == 0 {
					if err := f.DeleteBatch(t.Context(), store.SingleUser, id); err != nil {
						t.Fatal(err)
					}
					batches = append(batches[:at], batches[at+1:]...)
				}
			case 2:
				f.answer(id, store.NewResult{Number: number, Engine: "test", Problem: []byte(`{}`)})
				f.change(id, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
					_, err := store.RetryFailed(ctx, tx, b)
					return err
				})
			default:
				f.answer(id, whole(number, fmt.Sprint(random.IntN(3))))
			}
			if step%10 == 9 {
				f.holdToUses()
				f.holdToFiles(c)
			}
		}
		for _, id := range batches {
			if err := f.DeleteBatch(t.Context(), store.SingleUser, id); err != nil {
				t.Fatal(err)
			}
		}
		if uses := f.blobs(); uses != nil {
			t.Errorf("left are %v", uses)
		}
	})
}

// What organizations have in common is kept for each: nobody learns from time, quota or
// deletion what another has.
func TestNothingIsSharedBetweenOrganizations(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		own := f.create("the same")
		f.answer(own.ID, whole(1, "the same"))
		var other string
		f.write(func(ctx context.Context, tx store.Tx) error {
			o, err := f.CreateOrganization(ctx, tx, "another school", store.Quotas{})
			if err != nil {
				return err
			}
			other = o.ID
			b, err := f.CreateBatch(ctx, tx, other, []byte(`{}`))
			if err != nil {
				return err
			}
			_, err = f.Change(ctx, tx, other, b.ID, func(b *store.Batch) error {
				_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{Name: "1.musicxml", Score: store.NewScore([]byte("the same"))}})
				if err == nil {
					_, err = f.SaveResults(ctx, tx, b, whole(1, "the same"))
				}
				if b.Bytes != own.Bytes+bytesOf(whole(1, "the same")) {
					t.Errorf("what another has counts for less: %d bytes", b.Bytes)
				}
				return err
			})
			return err
		})
		if uses := fmt.Sprint(f.blobs()); uses != "[1 1 1 1 1 1 1 1 1 1]" {
			t.Errorf("used are %s", uses)
		}
		f.write(func(ctx context.Context, tx store.Tx) error { return store.DeleteOrganization(ctx, tx, other) })
		f.holdToUses()
		f.holdToText(own.ID, "the same")
	})
}

func bytesOf(r store.NewResult) int64 {
	return int64(len(r.Report) + len(r.Marked) + len(r.Analysis) + len(r.Mending) + len(r.Voicing))
}

// One gives an answer while another deletes the last one like it: both succeed, and the
// answer can be read.
func TestAnswerIsDeletedWhileItIsGivenElsewhere(t *testing.T) {
	eachPlace(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		var all sync.WaitGroup
		until := time.Now().Add(time.Second)
		for range 4 {
			b := f.create()
			all.Go(func() {
				for n := 0; time.Now().Before(until); n++ {
					members := []store.NewMember{{Name: "x", Score: store.NewScore([]byte("x"))}}
					results := []store.NewResult{whole(0, "the same")}
					if n%2 == 0 {
						carry := errors.Join(f.CarryMembers(t.Context(), store.SingleUser, members), f.CarryResults(t.Context(), store.SingleUser, results))
						if carry != nil {
							t.Error(carry)
							return
						}
					}
					err := f.Write(t.Context(), func(tx store.Tx) error {
						_, err := f.Change(t.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
							if n%2 == 1 {
								return store.DeleteMember(t.Context(), tx, b, b.Last)
							}
							_, err := f.AddMembers(t.Context(), tx, b, members)
							if err == nil {
								results[0].Number = b.Last
								_, err = f.SaveResults(t.Context(), tx, b, results...)
							}
							return err
						})
						return err
					})
					if err == nil {
						err = f.RemoveBlobs(t.Context())
					}
					if err != nil {
						t.Errorf("step %d: %v", n, err)
						return
					}
				}
			})
		}
		all.Wait()
		f.holdToUses()
		f.holdToFiles(c)
	})
}

// Answers of an earlier version stay where they are, are read, and go.
func TestAnswersOfEarlierVersionsGo(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two")
		f.answer(b.ID, whole(1, "one"))
		f = f.upgraded(c, 17, func() {})
		f.answer(b.ID, whole(2, "one"))
		f.holdToUses()
		f.holdToText(b.ID, "one", "one")
		if b := f.remove(b.ID, 1); b.Bytes <= 0 {
			t.Errorf("the batch has %d bytes", b.Bytes)
		}
		f.holdToText(b.ID, "one")
		if b := f.remove(b.ID, 2); b.Bytes != 0 {
			t.Errorf("the batch has %d bytes", b.Bytes)
		}
		f.holdToUses()
	})
}

// What was deleted is given back to the disk. A file that was made before stays as it is
// until VACUUM has made it anew, as deploy/RUNBOOK.md says.
func TestFileShrinks(t *testing.T) {
	c := store.Config{Dir: t.TempDir()}
	f := fixture{t, storetest.Open(t, c)}
	size := func() int64 {
		t.Helper()
		if err := f.Shrink(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := f.EmptyLog(t.Context()); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(filepath.Join(c.Dir, "partwright.db"))
		if err != nil {
			t.Fatal(err)
		}
		return info.Size()
	}
	const much = 8 << 20
	fill := func() {
		t.Helper()
		noise := make([]byte, much)
		for i := range noise {
			noise[i] = byte(rand.Uint32()) // #nosec G404 -- that cannot be packed
		}
		b := f.create("one", "two")
		f.answer(b.ID, numbered(1, report("an answer")))
		f.answer(b.ID, numbered(2, report(string(noise))))
		if err := f.DeleteBatch(t.Context(), store.SingleUser, b.ID); err != nil {
			t.Fatal(err)
		}
	}
	empty := size()
	fill()
	if after := size(); after > empty+much/10 {
		t.Errorf("%d bytes before, %d after a batch that was deleted", empty, after)
	}
	if _, err := f.SQLite().Exec("PRAGMA auto_vacuum = none; VACUUM"); err != nil { // as earlier versions made it
		t.Fatal(err)
	}
	fill()
	if after := size(); after < much {
		t.Errorf("%d bytes: the test shows nothing", after)
	}
	small := filepath.Join(t.TempDir(), "partwright.db")
	if _, err := f.SQLite().Exec("PRAGMA auto_vacuum = incremental; VACUUM INTO '" + strings.ReplaceAll(small, "'", "''") + "'"); err != nil {
		t.Fatal(err)
	}
	c = store.Config{Dir: filepath.Dir(small)}
	f = fixture{t, storetest.Open(t, c)}
	fill()
	if after := size(); after > empty+much/10 {
		t.Errorf("made anew: %d bytes before, %d after a batch that was deleted", empty, after)
	}
}
