package address

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// put commits something at an address.
func put(t *testing.T, s Storage, address, text string) (written bool) {
	t.Helper()
	part, err := s.Create(context.Background(), address)
	if err == nil {
		_, err = part.WriteString(text)
	}
	if err == nil {
		written, err = part.Commit(context.Background())
	}
	if err != nil {
		t.Fatal(err)
	}
	return written
}

// collect lists a folder.
func collect(t *testing.T, s Storage, folder, after string) []string {
	t.Helper()
	var all []string
	for address, err := range s.List(context.Background(), folder, after) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, address)
	}
	return all
}

// places are a folder and a bucket, for what is the same in both.
func places(t *testing.T) map[string]string {
	t.Helper()
	_, bucket := fakeStorage(t)
	return map[string]string{"files": t.TempDir(), "objects": bucket}
}

func TestWhatIsThereStays(t *testing.T) {
	s := Open(Config{Tries: 2})
	for kind, top := range places(t) {
		at := Join(top, "answers/one")
		if there, err := s.Has(context.Background(), at); there || err != nil {
			t.Errorf("%s: there before it was written: %v, %v", kind, there, err)
		}
		if !put(t, s, at, "first") || put(t, s, at, "second") {
			t.Errorf("%s: the first was not written, or the second was", kind)
		}
		if data, err := s.Read(context.Background(), at, 100); string(data) != "first" || err != nil {
			t.Errorf("%s: it holds %q, %v", kind, data, err)
		}
		if there, err := s.Has(context.Background(), at); !there || err != nil {
			t.Errorf("%s: not there: %v", kind, err)
		}
	}
}

// Of many that write at once one is first, and the content is of one alone.
func TestOneIsFirst(t *testing.T) {
	s := Open(Config{Tries: 2})
	for kind, top := range places(t) {
		var mu sync.Mutex
		var all sync.WaitGroup
		first := 0
		for i := range 8 {
			all.Go(func() {
				if put(t, s, Join(top, "x"), strings.Repeat(string(rune('a'+i)), 70_000)) {
					mu.Lock()
					first++
					mu.Unlock()
				}
			})
		}
		all.Wait()
		data, err := s.Read(context.Background(), Join(top, "x"), 100_000)
		if err != nil || len(data) != 70_000 || len(bytes.Trim(data, string(data[:1]))) != 0 {
			t.Errorf("%s: %d bytes of more than one, or %v", kind, len(data), err)
		}
		// The fake looks and writes in two steps, so that two may be first with it.
		if first < 1 || kind == "files" && first != 1 {
			t.Errorf("%s: %d were first", kind, first)
		}
	}
}

// S3 lists keys in the order of their bytes in UTF-8 (Amazon S3 API, ListObjectsV2);
// folders are listed alike.
func TestListsAreInOrderOfBytes(t *testing.T) {
	s := Open(Config{Tries: 2})
	for kind, top := range places(t) {
		want := []string{"B", "a b", "a.xml", "a/1.xml", "a/2/x", "a/2x", "ab", "é"}
		for _, name := range append(slices.Clone(want), ".hidden", "a/.part-x") {
			put(t, s, Join(top, name), name)
		}
		for after := range append([]string{""}, want...) {
			from := ""
			if after > 0 {
				from = Join(top, want[after-1])
			}
			got := collect(t, s, Join(top, ""), from)
			for i := range got {
				got[i] = strings.TrimPrefix(got[i], Join(top, ""))
			}
			if !slices.Equal(got, want[after:]) {
				t.Errorf("%s after %q: %q", kind, from, got)
			}
		}
	}
}

func TestReadingTellsWhatIsTooLong(t *testing.T) {
	s := Open(Config{Tries: 2})
	for kind, top := range places(t) {
		put(t, s, Join(top, "long"), strings.Repeat("x", 1000))
		for limit, want := range map[int64]int{999: 1000, 1000: 1000, 10: 11, 5000: 1000} {
			if data, err := s.Read(context.Background(), Join(top, "long"), limit); len(data) != want || err != nil {
				t.Errorf("%s: limit %d gives %d bytes, %v", kind, limit, len(data), err)
			}
		}
	}
}

func TestWhatIsNotThereIsNotTriedAgain(t *testing.T) {
	s := Open(Config{})
	_, bucket := fakeStorage(t)
	dir := t.TempDir()
	for _, a := range []string{
		filepath.Join(dir, "gone"), dir, "file://" + dir + "/gone", "",
		bucket + "/gone", "s3://no-such-bucket/x", "s3://", "gopher://x/y",
	} {
		_, err := s.Read(context.Background(), a, 10)
		var failed *Error
		if !errors.As(err, &failed) || failed.Retryable {
			t.Errorf("%q: %v", a, err)
		}
	}
}

func TestPartsLeftByAKillAreSwept(t *testing.T) {
	dir := t.TempDir()
	s := Open(Config{})
	left, err := s.Create(context.Background(), filepath.Join(dir, "answers"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := left.WriteString("half"); err != nil {
		t.Fatal(err)
	}
	other, err := s.Create(context.Background(), filepath.Join(dir, "others"))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Discard()
	put(t, s, filepath.Join(dir, "answers"), "whole")
	if _, err := os.Stat(left.Name()); err == nil {
		t.Error("what was left lies there still")
	}
	if _, err := os.Stat(other.Name()); err != nil {
		t.Error("a part of something else is gone")
	}
	if written, err := left.Commit(context.Background()); written || err != nil {
		t.Errorf("the one that was overtaken: written %v, %v", written, err)
	}
	if data, _ := s.Read(context.Background(), filepath.Join(dir, "answers"), 10); string(data) != "whole" {
		t.Errorf("it holds %q", data)
	}
}

func TestDiscardLeavesNothing(t *testing.T) {
	s := Open(Config{})
	for kind, top := range places(t) {
		part, err := s.Create(context.Background(), Join(top, "x"))
		if err != nil {
			t.Fatal(err)
		}
		part.Discard()
		if _, err := os.Stat(part.Name()); err == nil {
			t.Errorf("%s: a part is left", kind)
		}
		if all := collect(t, s, Join(top, ""), ""); len(all) != 0 {
			t.Errorf("%s: %q", kind, all)
		}
	}
}

// What is removed is gone; that it was not there is no error.
func TestRemoved(t *testing.T) {
	s := Open(Config{Tries: 2})
	for kind, top := range places(t) {
		for _, name := range []string{"a/one", "a/two"} {
			put(t, s, Join(top, name), name)
		}
		for range 2 {
			if err := s.Remove(context.Background(), Join(top, "a/one")); err != nil {
				t.Errorf("%s: %v", kind, err)
			}
		}
		if all := collect(t, s, Join(top, ""), ""); len(all) != 1 || all[0] != Join(top, "a/two") {
			t.Errorf("%s: left are %q", kind, all)
		}
	}
}

// With a folder for them no part lies elsewhere, and those that were left go by their age.
func TestPartsLieApart(t *testing.T) {
	top := t.TempDir()
	parts := filepath.Join(top, ".parts")
	s := Open(Config{Parts: parts})
	left, err := s.Create(context.Background(), Join(top, "a/b/one"))
	if err != nil {
		t.Fatal(err)
	}
	defer left.Discard()
	if filepath.Dir(left.Name()) != parts {
		t.Errorf("a part is %s", left.Name())
	}
	if !put(t, s, Join(top, "a/b/one"), "whole") || put(t, s, Join(top, "a/b/one"), "again") {
		t.Error("it was not written, or twice")
	}
	if data, err := s.Read(context.Background(), Join(top, "a/b/one"), 10); string(data) != "whole" || err != nil {
		t.Errorf("it holds %q, %v", data, err)
	}
	for _, age := range []time.Duration{time.Hour, -time.Hour} {
		if err := ForgetParts(parts, time.Now().Add(-age)); err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(left.Name()); (err == nil) != (age > 0) {
			t.Errorf("after those older than %v are forgotten: %v", age, err)
		}
	}
}
