package store_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"

	"partwright/worker/address"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// eachPlace runs a test with blobs in the database, in a folder, and in object storage
// that is busy now and then.
func eachPlace(t *testing.T, test func(*testing.T, store.Config)) {
	t.Helper()
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for name, place := range map[string]func(*testing.T) string{
			"inside": func(*testing.T) string { return "" }, "folder": func(t *testing.T) string { return t.TempDir() }, "objects": objects,
		} {
			t.Run(name, func(t *testing.T) {
				c := c
				if c.Dir != "" {
					c.Dir = t.TempDir()
				} else {
					c.URL = storetest.EmptyPostgres(t)
				}
				c.Blobs = place(t)
				test(t, c)
			})
		}
	})
}

// objects starts S3-compatible storage in memory that refuses every ninth request at
// first, as S3 does when it is asked too much.
func objects(t *testing.T) string {
	t.Helper()
	backend := s3mem.New()
	if err := backend.CreateBucket("kept"); err != nil {
		t.Fatal(err)
	}
	handler := gofakes3.New(backend).Server()
	var asked atomic.Int64
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if asked.Add(1)%9 == 0 {
			_, _ = io.Copy(io.Discard, r.Body)
			w.WriteHeader(http.StatusServiceUnavailable)
			_, _ = io.WriteString(w, `<Error><Code>SlowDown</Code><Message>Reduce your request rate.</Message></Error>`)
			return
		}
		handler.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	t.Setenv("AWS_ENDPOINT_URL_S3", server.URL)
	t.Setenv("AWS_REGION", "us-east-1")
	t.Setenv("AWS_ACCESS_KEY_ID", "keeper")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "secret")
	return "s3://kept/of-a-service"
}

// outside lists what lies outside, relative to where it lies and without the mark.
func outside(t *testing.T, c store.Config) map[string]bool {
	t.Helper()
	all := map[string]bool{}
	if c.Blobs == "" {
		return all
	}
	for at, err := range address.Open(address.Config{}).List(t.Context(), address.Join(c.Blobs, ""), "") {
		if err != nil {
			t.Fatal(err)
		}
		if name := strings.TrimPrefix(at, address.Join(c.Blobs, "")); name != "partwright-blobs" {
			all[name] = true
		}
	}
	return all
}

// holdToFiles holds what lies outside to the rows, once what is deleted is removed and
// what was never saved is swept.
func (f fixture) holdToFiles(c store.Config) {
	f.Helper()
	if err := f.RemoveBlobs(f.Context()); err != nil {
		f.Fatal(err)
	}
	for {
		if _, end, err := f.SweepBlobs(f.Context(), 0, 3); err != nil {
			f.Fatal(err)
		} else if end {
			break
		}
	}
	files := outside(f.T, c)
	f.read(func(ctx context.Context, tx store.Tx) error {
		for _, table := range []string{"scores", "blobs"} {
			err := store.Each(ctx, tx, func(scan store.Scan) error {
				var packed []byte
				err := scan(&packed)
				if packed[0] == 1 { // a place, after the size in four bytes
					if !files[string(packed[5:])] {
						f.Errorf("%s is not there", packed[5:])
					}
					delete(files, string(packed[5:]))
				}
				return err
			}, `SELECT packed FROM `+table)
			if err != nil {
				return err
			}
		}
		return nil
	})
	for name := range files {
		f.Errorf("%s belongs to no row", name)
	}
}

// A place that cannot be removed keeps no other from it, and is removed once it can be.
func TestOnePlaceThatStaysKeepsNoOther(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		c.Blobs = t.TempDir()
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "two", "three")
		for number := range int64(3) {
			f.answer(b.ID, whole(number+1, strings.Repeat("x", 5000)+fmt.Sprint(number)))
		}
		all := slices.Sorted(maps.Keys(outside(t, c)))
		if len(all) < 4 {
			t.Fatalf("outside are %q", all)
		}
		// A folder with something in it stands in the way.
		stays := filepath.Join(c.Blobs, all[0])
		if err := errors.Join(os.Remove(stays), os.MkdirAll(filepath.Join(stays, "other"), 0o700)); err != nil {
			t.Fatal(err)
		}
		if err := f.DeleteBatch(t.Context(), store.SingleUser, b.ID); err != nil {
			t.Fatal(err)
		}
		if err := f.RemoveBlobs(t.Context()); !errors.Is(err, store.ErrBlobs) {
			t.Errorf("what stays is told as %v", err)
		}
		if left := outside(t, c); len(left) != 0 {
			t.Errorf("left are %v", left)
		}
		var waiting []string
		f.read(func(ctx context.Context, tx store.Tx) error {
			return store.Each(ctx, tx, func(scan store.Scan) error {
				var place []byte
				err := scan(&place)
				waiting = append(waiting, string(place[5:])) // after the size in four bytes
				return err
			}, `SELECT place FROM removals`)
		})
		if !slices.Equal(waiting, all[:1]) {
			t.Errorf("%q are still to be removed, not %q alone", waiting, all[0])
		}
		if err := os.RemoveAll(stays); err != nil {
			t.Fatal(err)
		}
		if err := f.RemoveBlobs(t.Context()); err != nil {
			t.Errorf("then %v", err)
		}
	})
}

// What was carried outside and never saved goes once it is old; nothing else does.
func TestOrphansAreSwept(t *testing.T) {
	now := time.Now()
	for name, blobs := range map[string]func(*testing.T) string{"folder": func(t *testing.T) string { return t.TempDir() }, "objects": objects} {
		t.Run(name, func(t *testing.T) {
			c := store.Config{Dir: t.TempDir(), Blobs: blobs(t), Now: func() time.Time { return now }}
			f := fixture{t, storetest.Open(t, c)}
			b := f.create("one", "two")
			f.answer(b.ID, whole(1, "one"))
			kept := len(outside(t, c))
			// Two scores and five parts, for an answer that is never saved.
			if err := f.CarryResults(t.Context(), store.SingleUser, []store.NewResult{whole(2, "never")}); err != nil {
				t.Fatal(err)
			}
			if all := len(outside(t, c)); kept != 7 || all != 12 {
				t.Fatalf("%d of %d are kept", kept, all)
			}
			sweep := func() (removed int) {
				t.Helper()
				for {
					n, end, err := f.SweepBlobs(t.Context(), time.Hour, 5)
					if err != nil {
						t.Fatal(err)
					}
					if removed += n; end {
						return removed
					}
				}
			}
			if n := sweep(); n != 0 {
				t.Errorf("%d young ones are gone", n)
			}
			now = now.Add(2 * time.Hour)
			if n := sweep(); n != 5 || len(outside(t, c)) != kept {
				t.Errorf("%d were removed, %d are left of %d", n, len(outside(t, c)), kept)
			}
			f.holdToText(b.ID, "one")
		})
	}
}

// What is not there any more, or is another, is told by its name, and keeps no other from
// being read.
func TestGoneBlobsAreNamed(t *testing.T) {
	c := store.Config{Dir: t.TempDir(), Blobs: t.TempDir()}
	f := fixture{t, storetest.Open(t, c)}
	b := f.create("one")
	r := whole(1, "one")
	f.answer(b.ID, r)
	for name := range outside(t, c) {
		file := filepath.Join(c.Blobs, filepath.FromSlash(name))
		packed, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		switch string(packed) {
		case string(r.Marked):
			err = os.Remove(file)
		case string(r.Analysis):
			err = os.Truncate(file, int64(len(packed)-1))
		case string(r.Mending):
			other := append([]byte{}, packed...)
			other[len(other)-1] ^= 1
			err = os.WriteFile(file, other, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 1, Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true})
	if err := f.Fetch(t.Context(), page[0].Blobs()...); err != nil {
		t.Fatal(err)
	}
	if n := store.Gone(page[0].Blobs()...); n != 3 {
		t.Errorf("%d are gone", n)
	}
	for part, gone := range map[*store.Blob]bool{&page[0].Report: false, &page[0].Marked: true, &page[0].Analysis: true, &page[0].Mending: true, &page[0].Voicing: false} {
		_, err := part.Unpack()
		if gone != errors.Is(err, store.ErrBlobGone) || gone && !strings.Contains(err.Error(), "single-user/answers/") {
			t.Errorf("gone %v: %v", gone, err)
		}
	}
}

// Where a disk is no longer mounted nothing is gone for good, and nothing is written to
// the folder that is left.
func TestDiskThatIsNotMounted(t *testing.T) {
	c := store.Config{Dir: t.TempDir(), Blobs: filepath.Join(t.TempDir(), "disk")}
	f := fixture{t, storetest.Open(t, c)}
	b := f.create("one", "two")
	f.answer(b.ID, whole(1, "one"))
	away := filepath.Join(t.TempDir(), "away")
	if err := errors.Join(os.Rename(c.Blobs, away), os.Mkdir(c.Blobs, 0o700)); err != nil {
		t.Fatal(err)
	}
	page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 1, Reports: true})
	if err := f.Fetch(t.Context(), page[0].Blobs()...); !errors.Is(err, store.ErrBlobs) {
		t.Errorf("read: %v", err)
	}
	if err := f.CarryResults(t.Context(), store.SingleUser, []store.NewResult{whole(2, "two")}); !errors.Is(err, store.ErrBlobs) {
		t.Errorf("written: %v", err)
	}
	if n := len(outside(t, c)); n != 0 {
		t.Errorf("%d documents lie in the folder that is left", n)
	}
	if err := errors.Join(os.RemoveAll(c.Blobs), os.Rename(away, c.Blobs)); err != nil {
		t.Fatal(err)
	}
	f.answer(b.ID, whole(2, "two"))
	f.holdToText(b.ID, "one", "two")
}

// A storage that is not the database's own is refused, and so is none where there was one.
func TestStorageIsTheDatabasesOwn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		c.Blobs = t.TempDir()
		open := func(blobs, want string) {
			t.Helper()
			c := c
			c.Blobs = blobs
			s, err := store.Open(t.Context(), c)
			if err == nil {
				err = s.Close()
			}
			if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
				t.Errorf("opened with %q: %v, want %q", blobs, err, want)
			}
		}
		open(c.Blobs, "")
		open(c.Blobs, "")
		open("", "--blobs")
		open(t.TempDir(), "mount that")
		other := store.Config{Dir: t.TempDir(), Blobs: c.Blobs}
		if _, err := store.Open(t.Context(), other); err == nil || !strings.Contains(err.Error(), "another database") {
			t.Errorf("another database got %v", err)
		}
		moved := filepath.Join(t.TempDir(), "moved")
		if err := os.CopyFS(moved, os.DirFS(c.Blobs)); err != nil {
			t.Fatal(err)
		}
		open(moved, "")
	})
}
