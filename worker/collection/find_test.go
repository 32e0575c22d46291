package collection_test

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"partwright/worker/collection"
	"partwright/worker/report"
	"partwright/worker/store"
)

// written are the tables of some hymns, with a failure among them, in a folder.
func written(t *testing.T, hymns int) string {
	t.Helper()
	dir := t.TempDir()
	to := map[string]io.Writer{}
	for _, name := range collection.Names {
		file, err := os.Create(filepath.Join(dir, name+".parquet")) // #nosec G304 -- of the test
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = file.Close() }()
		to[name] = file
	}
	tables := collection.Open(collection.Origin{Engine: "test", Batch: "hymns"}, to)
	for i := range hymns {
		err := tables.Report(hymn())
		if i == 0 {
			err = errors.Join(err, tables.Failure(&report.Failure{File: "b.mxl", Code: "empty"}))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := tables.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

func all(t *testing.T, dir, kind string) (found []store.Found, err error) {
	err = collection.Read(t.Context(), dir, kind, func(f *store.Found) error {
		found = append(found, *f)
		return nil
	})
	return found, err
}

// What is read from tables is what was found in the reports, over more rows than are held
// at once.
func TestReadGivesBackWhatWasFound(t *testing.T) {
	const hymns = 200
	dir := written(t, hymns)
	for _, kind := range []string{store.FoundFindings, store.FoundHarmonies, store.FoundScores} {
		found, err := all(t, dir, kind)
		if err != nil || len(found) != hymns+1 {
			t.Fatalf("%s: %d scores, %v", kind, len(found), err)
		}
		if s := found[1].Score; s.Outcome != "failed" || s.Problem != "empty" || s.File != "b.mxl" || s.Number != 2 {
			t.Errorf("%s: failed %+v", kind, s)
		}
		for i := range found {
			if i == 1 {
				continue
			}
			rows := collection.RowsOf("hymns", int64(i+1), hymn())
			want := rows.Found()
			if kind != store.FoundFindings {
				want.Findings = nil
			}
			if kind != store.FoundHarmonies {
				want.Harmonies = nil
			}
			if !reflect.DeepEqual(&found[i], want) {
				t.Fatalf("%s, score %d: %+v, want %+v", kind, i+1, found[i], want)
			}
		}
	}
	found, _ := all(t, dir, store.FoundHarmonies)
	last := found[hymns].Harmonies[2]
	if last.Cadence != "DC" || !slices.Equal(last.Before, []string{"N6", "V7"}) || !strings.HasSuffix(last.Formula, "V7 VI") {
		t.Errorf("%+v", last)
	}
}

// A table that is not whole is an error that names it, whatever is wrong with it.
func TestReadNamesTablesThatAreDamaged(t *testing.T) {
	dir := written(t, 8)
	path := filepath.Join(dir, "findings.parquet")
	whole, err := os.ReadFile(path) // #nosec G304 -- of the test
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4)) // #nosec G404 -- repeatable
	try := func(what string, data []byte) error {
		t.Helper()
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := all(t, dir, store.FoundFindings)
		if err != nil && !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v does not name %s", what, err, path)
		}
		return err
	}
	for _, n := range []int{0, 3, 4, 100, len(whole) / 2, len(whole) - 1} {
		if try(fmt.Sprint(n, " bytes"), whole[:n]) == nil {
			t.Errorf("%d of %d bytes are read as a table", n, len(whole))
		}
	}
	for range 40 {
		bad := slices.Clone(whole)
		at := r.IntN(len(bad))
		bad[at] ^= byte(1 + r.IntN(255))
		_ = try(fmt.Sprint("byte ", at), bad) // some bytes matter to nobody
	}
	other, err := os.ReadFile(filepath.Join(written(t, 9), "findings.parquet")) // #nosec G304 -- of the test
	if err != nil {
		t.Fatal(err)
	}
	if err := try("those of other scores", other); err == nil || !strings.Contains(err.Error(), "does not belong") {
		t.Errorf("findings of other scores: %v", err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if _, err := all(t, dir, store.FoundFindings); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("without the table: %v", err)
	}
	if _, err := all(t, dir, store.FoundScores); err != nil {
		t.Errorf("scores need no findings: %v", err)
	}
}
