package files

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/worker"
	"partwright/worker/stage"
)

// tree writes files of the given names, each holding its own name.
func tree(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range names {
		file := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestInputsFindScoresInFolders(t *testing.T) {
	dir := tree(t, "b/2.musicxml", "b/1.MXL", "a.xml", "notes.txt", ".git/x.xml", "b/.x.xml", "answers/c.xml")
	except, err := os.Stat(filepath.Join(dir, "answers"))
	if err != nil {
		t.Fatal(err)
	}
	in := &Inputs{Paths: []string{dir, filepath.Join(dir, "notes.txt"), filepath.Join(dir, "gone.xml")}, Except: except}
	var got []string
	for item := range in.All() {
		what := item.Place
		switch {
		case item.Skipped != "":
			what += " skipped"
		default:
			data, err := item.Read()
			var input *musicxml.InputError
			if errors.As(err, &input) {
				what += " " + input.Code
			} else if err != nil {
				t.Errorf("%s: %v", item.Name, err)
			} else {
				what += " = " + string(data)
			}
		}
		got = append(got, what)
	}
	want := []string{
		"a = a.xml", "b/1 = b/1.MXL", "b/2 = b/2.musicxml",
		"notes skipped",     // met in a folder: not a score by its name
		"notes = notes.txt", // named: read whatever it is called
		"gone not-accessible",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if in.Found() != len(want) {
		t.Errorf("Found is %d, want %d", in.Found(), len(want))
	}
}

// The name of a hand-in is the pupil's: a zip of one is an archive, unless it is named as
// a score, as older containers are.
func TestOneScoreInAZipKeepsItsName(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"one.zip", "one.mxl"} {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		f, err := w.Create("week 3/alto.musicxml")
		if err == nil {
			_, err = f.Write([]byte("<score-partwise/>"))
		}
		if err == nil {
			err = w.Close()
		}
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	var got []string
	for item := range (&Inputs{Paths: []string{dir}}).All() {
		inside, _ := filepath.Rel(dir, item.Name)
		got = append(got, filepath.ToSlash(inside)+" "+item.Place)
	}
	if want := []string{"one.mxl one", "one.zip/week 3/alto.musicxml one/week 3/alto"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// A link to a folder is followed where it is named, as a folder on another disk may be,
// and not where it is met, since it may lead round in a circle.
func TestLinksToFoldersAreFollowedWhereNamed(t *testing.T) {
	dir := tree(t, "disk/b/1.xml")
	for _, name := range []string{"collection", "disk/round"} {
		if err := os.Symlink(filepath.Join(dir, "disk"), filepath.Join(dir, name)); err != nil {
			t.Skip("no symbolic links here")
		}
	}
	var got []string
	for item := range (&Inputs{Paths: []string{filepath.Join(dir, "collection")}}).All() {
		inside, _ := filepath.Rel(dir, item.Name)
		got = append(got, filepath.ToSlash(inside)+" at "+item.Place+": "+item.Skipped)
	}
	want := []string{
		"collection/b/1.xml at b/1: ",
		"collection/round at round: a link to a folder, which is followed only where it is named",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestInputsReadNoMoreThanAllowed(t *testing.T) {
	dir := tree(t, "long.xml")
	in := &Inputs{Paths: []string{dir}, Limits: musicxml.Limits{MaxBytes: 3}, Archives: archive.Limits{Bytes: 3}}
	for item := range in.All() {
		if data, err := item.Read(); err != nil || len(data) != 4 {
			t.Errorf("read %d bytes, %v; want one more than the limit of 3, to tell that there are more", len(data), err)
		}
	}
}

// named yields items that hold their own names.
func named(names ...string) iter.Seq[Item] {
	return func(yield func(Item) bool) {
		for _, name := range names {
			if !yield(Item{Name: name, Read: func() ([]byte, error) { return []byte(name), nil }}) {
				return
			}
		}
	}
}

// TestRunKeepsOrder lets the first score take longest: the answers come in the
// order of the questions all the same.
func TestRunKeepsOrder(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		run := &Run[string]{Workers: 3, Job: func(_ context.Context, in worker.Input) (string, error) {
			time.Sleep(time.Duration(20-len(in.Data)) * time.Second)
			return string(in.Data), nil
		}}
		want := []string{"a", "bb", "ccc", "dddd", "eeeee", "ffffff"}
		var got []string
		for o := range run.Over(t.Context(), named(want...)) {
			got = append(got, o.Result)
		}
		if !slices.Equal(got, want) {
			t.Errorf("answers in the order %v, want %v", got, want)
		}
	})
}

// TestRunEndsWhenToldTo cancels while a score is read that never comes, as
// standard input may not.
func TestRunEndsWhenToldTo(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	never := make(chan struct{})
	defer close(never)
	items := func(yield func(Item) bool) {
		yield(Item{Name: "-", Read: func() ([]byte, error) { cancel(); <-never; return nil, nil }})
	}
	run := &Run[int]{Job: func(context.Context, worker.Input) (int, error) { return 0, nil }}
	for o := range run.Over(ctx, items) {
		t.Errorf("an outcome after the end: %+v", o)
	}
}

func TestRunGoesOnAfterPanicAndError(t *testing.T) {
	run := &Run[string]{Workers: 1, Job: func(_ context.Context, in worker.Input) (string, error) { return in.Name, nil }}
	items := func(yield func(Item) bool) {
		_ = yield(Item{Name: "panics", Read: func() ([]byte, error) { panic("in a library") }}) &&
			yield(Item{Name: "skipped", Skipped: "for a reason"}) &&
			yield(Item{Name: "good", Read: func() ([]byte, error) { return nil, nil }})
	}
	var got []string
	for o := range run.Over(t.Context(), items) {
		got = append(got, o.Item.Name+"/"+o.Result)
		if (o.Item.Name == "panics") != errors.Is(o.Err, stage.ErrPanicked) {
			t.Errorf("%s: %v", o.Item.Name, o.Err)
		}
	}
	if want := []string{"panics/", "skipped/", "good/good"}; !slices.Equal(got, want) {
		t.Errorf("outcomes %v, want %v", got, want)
	}
}

func TestFingerprintTellsWhatChanged(t *testing.T) {
	dir := tree(t, "a.xml", "b/2.musicxml", "c.txt")
	of := func(beside bool) string {
		return (&Inputs{Paths: []string{filepath.Join(dir, "b"), filepath.Join(dir, "a.xml")}, Beside: beside}).Fingerprint()
	}
	plain, beside := of(false), of(true)
	if plain == "" || plain != of(false) {
		t.Fatal("the same files have two fingerprints")
	}
	changes := []struct {
		why    string
		do     func() error
		beside bool // seen only where labels are asked for
	}{
		{"another text", func() error { return os.WriteFile(filepath.Join(dir, "a.xml"), []byte("other"), 0o600) }, false},
		{"the same size at another time", func() error { return os.Chtimes(filepath.Join(dir, "a.xml"), time.Time{}, time.Unix(1, 0)) }, false},
		{"one more", func() error { return os.WriteFile(filepath.Join(dir, "b", "3.xml"), nil, 0o600) }, false},
		{"one less", func() error { return os.Remove(filepath.Join(dir, "b", "2.musicxml")) }, false},
		{"labels beside a file that is named", func() error { return os.WriteFile(filepath.Join(dir, "a.rntxt"), nil, 0o600) }, true},
	}
	for _, c := range changes {
		if err := c.do(); err != nil {
			t.Fatal(err)
		}
		if now := of(false); (now == plain) != c.beside {
			t.Errorf("%s: seen without labels: %t", c.why, now != plain)
		}
		if now := of(true); now == beside {
			t.Errorf("%s: not seen", c.why)
		}
		plain, beside = of(false), of(true)
	}
	if got := (&Inputs{Paths: []string{"-"}}).Fingerprint(); got != "" {
		t.Errorf("standard input has the fingerprint %q", got)
	}
}
