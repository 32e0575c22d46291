package batch_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/store"
)

// A run goes on only with what has the same options and files.
func TestResumeTellsTheSamePlan(t *testing.T) {
	folder := t.TempDir()
	score := filepath.Join(folder, "score.musicxml")
	if err := os.WriteFile(score, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	b.start()
	dir := must(files.OpenOutDir(t.TempDir()))(t)
	t.Cleanup(func() { _ = dir.Close() })
	kept := &batch.Resumable{Service: b.Service, Dir: dir, File: "state/plan.json"}
	plan := func(setting string, paths ...string) *batch.ResumePlan {
		return must(batch.NewResumePlan(&files.Inputs{Paths: paths}, setting))(t)
	}
	begin := func(p *batch.ResumePlan, texts ...string) *store.Batch {
		return must(kept.Begin(t.Context(), p, batch.Order{Request: asked(), Items: scores(texts...)}))(t)
	}

	if _, _, err := kept.Find(t.Context(), plan("a")); !errors.Is(err, batch.ErrNoPlan) {
		t.Errorf("without paths, in an empty folder: %v", err)
	}
	if found, other, err := kept.Find(t.Context(), plan("a", score)); found != nil || other || err != nil {
		t.Errorf("the first run finds %v, another: %v, %v", found, other, err)
	}
	made := begin(plan("a", score), "one", "two")
	for _, tt := range []struct {
		what  string
		plan  *batch.ResumePlan
		found bool
		other bool
		err   error
	}{
		{"the same", plan("a", score), true, false, nil},
		{"the same without paths", plan("a"), true, false, nil},
		{"other settings", plan("b", score), false, true, nil},
		{"other settings without paths", plan("b"), false, true, batch.ErrOtherPlan},
		{"its folder, where nothing else is", plan("a", folder), true, false, nil},
		{"one more file", plan("a", score, "another.musicxml"), false, true, nil},
		{"standard input, which may hold anything", plan("a", "-"), false, true, nil},
	} {
		found, other, err := kept.Find(t.Context(), tt.plan)
		if (found != nil) != tt.found || found != nil && found.ID != made.ID || other != tt.other || !errors.Is(err, tt.err) {
			t.Errorf("%s: found %v, another: %v, %v", tt.what, found, other, err)
		}
	}
	if err := os.WriteFile(score, []byte("three"), 0o600); err != nil {
		t.Fatal(err)
	}
	if found, other, _ := kept.Find(t.Context(), plan("a", score)); found != nil || !other {
		t.Errorf("after the file was changed: found %v, another: %v", found, other)
	}

	// What is begun anew ends what was there, and leaves nothing of it behind.
	hold := make(chan struct{})
	b.pool.mu.Lock()
	b.pool.hold = hold
	b.pool.mu.Unlock()
	slow := begin(plan("c", score), "four")
	last := begin(plan("d", score), "five")
	close(hold)
	if s := must(b.Status(t.Context(), org, slow.ID))(t); s.State != store.BatchCanceled {
		t.Errorf("the earlier batch is %s", s.State)
	}
	b.wait(last.ID, store.BatchFinished)
	if err := kept.End(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Status(t.Context(), org, slow.ID); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("the canceled batch is still there: %v", err)
	}
	if _, _, err := kept.Find(t.Context(), plan("d")); !errors.Is(err, batch.ErrNoPlan) {
		t.Errorf("after the end: %v", err)
	}
}

// A run that is ended while scores are still taken in has a plan and no batch.
func TestResumeOfWhatNeverCame(t *testing.T) {
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	dir := must(files.OpenOutDir(t.TempDir()))(t)
	t.Cleanup(func() { _ = dir.Close() })
	kept := &batch.Resumable{Service: b.Service, Dir: dir, File: "plan.json"}
	const text = `{"key": "of nothing", "options": "x", "paths": "y"}`
	if err := dir.Write("plan.json", []byte(text)); err != nil {
		t.Fatal(err)
	}
	if found, other, err := kept.Find(t.Context(), &batch.ResumePlan{Options: "x", Paths: "y"}); found != nil || other || err != nil {
		t.Errorf("with its paths it is begun anew: %v, another: %v, %v", found, other, err)
	}
	if _, _, err := kept.Find(t.Context(), &batch.ResumePlan{Options: "x", AnyPaths: true}); !errors.Is(err, batch.ErrNotReceived) {
		t.Errorf("without paths: %v", err)
	}
	if err := dir.Write("plan.json", []byte("half a pl")); err != nil {
		t.Fatal(err)
	}
	if found, other, err := kept.Find(t.Context(), &batch.ResumePlan{Options: "x", Paths: "y"}); found != nil || other || err != nil {
		t.Errorf("a plan that cannot be read is none: %v, another: %v, %v", found, other, err)
	}
}

// Answers lie in folders like those of the scores; what has none is named.
func TestWriteFolder(t *testing.T) {
	b := newBench(t, store.Config{Dir: t.TempDir()}, nil)
	b.start()
	made := b.create(asked("marks", "true", "mend", "true"), "one", "broken", "endless")
	out := t.TempDir()
	dir := must(files.OpenOutDir(out))(t)
	t.Cleanup(func() { _ = dir.Close() })
	var faults, failed, unmended int
	for w, err := range b.WriteFolder(t.Context(), org, made.ID, dir, 2) {
		switch {
		case err != nil:
			t.Fatal(err)
		case w.Failure != nil:
			failed++
			continue
		case w.MendFailure != nil:
			unmended++
		}
		faults += w.Summary.Faults
	}
	if faults != 2 || failed != 1 || unmended != 1 {
		t.Errorf("%d faults, %d unreadable, %d not mended", faults, failed, unmended)
	}
	for name, want := range map[string]bool{
		"class/1.findings.json": true, "class/1.marked.musicxml": true, "class/1.mended.musicxml": true,
		"class/2.findings.json": false, "class/3.findings.json": true, "class/3.mended.musicxml": false,
	} {
		if _, err := os.Stat(filepath.Join(out, name)); (err == nil) != want {
			t.Errorf("%s: %v", name, err)
		}
	}

	// A folder where a file should be ends it with the name of the score.
	again := must(files.OpenOutDir(t.TempDir()))(t)
	t.Cleanup(func() { _ = again.Close() })
	if err := again.Write("class", nil); err != nil {
		t.Fatal(err)
	}
	var last error
	for _, last = range b.WriteFolder(t.Context(), org, made.ID, again, 2) {
	}
	if last == nil {
		t.Error("answers cannot be written and nothing was said")
	}
}
