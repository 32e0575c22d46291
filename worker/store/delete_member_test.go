package store_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// remove deletes members and returns the batch as it is then.
func (f fixture) remove(id string, numbers ...int64) *store.Batch {
	f.Helper()
	return f.change(id, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		for _, n := range numbers {
			if err := store.DeleteMember(ctx, tx, b, n); err != nil {
				return err
			}
		}
		return nil
	})
}

// kept counts the rows that hold something of scores.
func (f fixture) kept() (scores, members, results int64) {
	f.Helper()
	for table, into := range map[string]*int64{"scores": &scores, "members": &members, "results": &results} {
		f.read(func(ctx context.Context, tx store.Tx) error {
			return store.Each(ctx, tx, func(scan store.Scan) error { return scan(into) }, `SELECT count(*) FROM `+table)
		})
	}
	return scores, members, results
}

// Whatever is deleted one by one leaves the same as what was never there.
func TestDeletedMemberLeavesNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "another", "one")
		f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
			_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{
				Name: "with.musicxml", Place: "with", Score: store.NewScore([]byte("with labels")), LabelsName: "with.rntxt", Labels: store.Pack([]byte("m1 C: I")),
			}})
			return err
		})
		part := store.Pack([]byte("a part of the answer"))
		f.answer(b.ID, store.NewResult{Number: 1, Engine: "test", Report: part, Marked: part, Analysis: part, Mending: part, Voicing: part})
		f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Problem: []byte(`{}`)})

		if scores, members, results := f.kept(); scores != 3 || members != 4 || results != 2 {
			t.Fatalf("%d scores, %d members, %d results", scores, members, results)
		}
		b = f.remove(b.ID, 1)
		if b.Counts != (store.Counts{Total: 3, Waiting: 2, Failed: 1}) {
			t.Errorf("after an answered one %+v", b.Counts)
		}
		if scores, _, _ := f.kept(); scores != 3 {
			t.Errorf("%d scores: the third member has the content of the first", scores)
		}
		b = f.remove(b.ID, 2, 3, 4)
		if b.Counts != (store.Counts{}) || b.Bytes != 0 {
			t.Errorf("after all: %+v, %d bytes", b.Counts, b.Bytes)
		}
		if scores, members, results := f.kept(); scores+members+results != 0 {
			t.Errorf("left are %d scores, %d members, %d results", scores, members, results)
		}
		if used := f.usage(store.SingleUser); used.Scores != 0 || used.Bytes != 0 {
			t.Errorf("still used %+v", used)
		}
		err := f.Write(t.Context(), func(tx store.Tx) error {
			_, err := f.Change(t.Context(), tx, store.SingleUser, b.ID, func(b *store.Batch) error {
				return store.DeleteMember(t.Context(), tx, b, 4)
			})
			return err
		})
		if !errors.Is(err, store.ErrNotFound) {
			t.Errorf("deleted again: %v", err)
		}
		if b = f.add(b.ID, "new"); b.Last != 5 {
			t.Errorf("the next score got the number %d", b.Last)
		}
	})
}

// Not even the bytes of the database file tell what was deleted.
func TestDeletedMembersAreOverwritten(t *testing.T) {
	dir := t.TempDir()
	f := fixture{t, storetest.Open(t, store.Config{Dir: dir})}
	name := []byte("a-name-that-tells-who.musicxml")
	inFile := func() bool {
		// Closed, nothing of the journal is left.
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(filepath.Join(dir, "partwright.db"))
		if err != nil {
			t.Fatal(err)
		}
		f = fixture{t, storetest.Open(t, store.Config{Dir: dir})}
		return bytes.Contains(data, name)
	}
	b := f.create("one", "another")
	b = f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{Name: string(name), Score: store.NewScore([]byte("a third"))}})
		return err
	})
	if !inFile() {
		t.Fatal("the name is not to be found before; the test shows nothing")
	}
	f.remove(b.ID, 3)
	if inFile() {
		t.Error("the name of a deleted score still stands in the file")
	}
}

// Nor does the log beside it, while the service goes on; a reader that would have to
// wait for that, or be waited for, does not.
func TestLogOfChangesIsEmptied(t *testing.T) {
	dir := t.TempDir()
	f := fixture{t, storetest.Open(t, store.Config{Dir: dir})}
	name := []byte("a-name-that-tells-who.musicxml")
	inFiles := func() bool {
		found := false
		for _, file := range []string{"partwright.db", "partwright.db-wal"} {
			data, err := os.ReadFile(filepath.Join(dir, file))
			if err != nil {
				t.Fatal(err)
			}
			found = found || bytes.Contains(data, name)
		}
		return found
	}
	b := f.create("one", "another")
	b = f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		_, err := f.AddMembers(ctx, tx, b, []store.NewMember{{Name: string(name), Score: store.NewScore([]byte("a third"))}})
		return err
	})
	f.remove(b.ID, 3)
	if !inFiles() {
		t.Fatal("the name is not to be found before; the test shows nothing")
	}
	f.read(func(ctx context.Context, tx store.Tx) error {
		begun := time.Now()
		_, err := store.OrganizationByID(ctx, tx, store.SingleUser)
		if err == nil {
			err = f.EmptyLog(ctx)
		}
		if time.Since(begun) > 3*time.Second {
			t.Error("a reader was waited for")
		}
		return err
	})
	if err := f.EmptyLog(t.Context()); err != nil {
		t.Fatal(err)
	}
	if inFiles() {
		t.Error("the name of a deleted score still stands in the files")
	}
}
