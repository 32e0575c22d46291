package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/shard"
)

// How many scores the test answers, and in how many shards. More make it a measurement.
var (
	manyScores = flag.Int("scores-made", 120, "how many scores are answered")
	manyShards = flag.Int("shards-made", 12, "in how many shards")
)

// asPipeline is a variable that makes the tests' program the pipeline's.
const asPipeline = "RUN_AS_PIPELINE"

func TestMain(m *testing.M) {
	release = "test"
	if os.Getenv(asPipeline) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// plainly answers scores one by one by the engine itself, as check does.
func plainly(t *testing.T, all []string) []string {
	t.Helper()
	wish, err := wishOf("")
	if err != nil {
		t.Fatal(err)
	}
	plan, err := wish.Plan()
	if err != nil {
		t.Fatal(err)
	}
	engine := &worker.Engine{Version: release, Limits: musicxml.DefaultLimits()}
	var lines []string
	for _, at := range all {
		data, err := os.ReadFile(at)
		if err != nil {
			t.Fatal(err)
		}
		a, err := engine.Do(t.Context(), worker.Input{Name: at, Data: data}, plan)
		if err != nil {
			t.Fatal(err)
		}
		line, err := a.Line()
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, string(line))
	}
	return lines
}

// scores writes scores of the demo class under a title each, and a list of them with one
// that is not there.
func scores(t *testing.T, dir string) (manifest string, all []string) {
	t.Helper()
	of, err := filepath.Glob("../../testdata/class/*.musicxml")
	if err != nil || len(of) == 0 {
		t.Fatalf("%d scores, %v", len(of), err)
	}
	for i := range *manyScores {
		data, err := os.ReadFile(of[i%len(of)])
		at := filepath.Join(dir, fmt.Sprintf("%05d.musicxml", i))
		if err == nil {
			data = bytes.Replace(data, []byte("<work-title>"), fmt.Appendf(nil, "<work-title>%d. ", i), 1)
			err = os.WriteFile(at, data, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, at)
	}
	manifest = filepath.Join(dir, "list")
	lines := strings.Join(append(all, filepath.Join(dir, "gone.musicxml")), "\n")
	if err := os.WriteFile(manifest, []byte(lines), 0o600); err != nil {
		t.Fatal(err)
	}
	return manifest, all
}

// answered are the lines of all shards, sorted.
func answered(t *testing.T, out string) []string {
	t.Helper()
	var lines []string
	names, err := filepath.Glob(filepath.Join(out, "answers-*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")...)
	}
	slices.Sort(lines)
	return lines
}

// A pipeline that is killed in the middle and submitted again answers each score once,
// with the bytes of one that nothing happened to, and of check.
func TestPipelineGoesOn(t *testing.T) {
	dir := t.TempDir()
	beam, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	manifest, all := scores(t, dir)

	pipeline := func(out string, more ...string) *exec.Cmd {
		cmd := exec.Command(beam, append([]string{
			"-manifest", manifest, "-out", out, "-shards", fmt.Sprint(*manyShards), "-worker_binary", beam,
		}, more...)...)
		cmd.Env = append(os.Environ(), asPipeline+"=1")
		return cmd
	}
	unbroken, failures := filepath.Join(dir, "unbroken"), filepath.Join(dir, "failures.ndjson")
	said, err := pipeline(unbroken, "-failures", failures).Output()
	if err != nil {
		t.Fatalf("the pipeline: %v: %s", err, stderrOf(err))
	}
	var counts total
	if err := json.Unmarshal(said, &counts); err != nil {
		t.Fatalf("%q: %v", said, err)
	}
	if counts.Shards != int64(*manyShards) || counts.Answered != len(all) || counts.Failed != 1 {
		t.Errorf("counts are %+v", counts)
	}
	if text, err := os.ReadFile(failures); err != nil || bytes.Count(text, []byte("\n")) != 1 || !bytes.Contains(text, []byte(`"code":"not-accessible"`)) {
		t.Errorf("failures are %q, %v", text, err)
	}

	broken := filepath.Join(dir, "broken")
	first := pipeline(broken)
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	for there := 0; there < *manyShards/2; time.Sleep(5 * time.Millisecond) {
		names, _ := filepath.Glob(filepath.Join(broken, "answers-*"))
		there = len(names)
	}
	if err := first.Process.Kill(); err != nil { // this one, workers and all: they run in it
		t.Fatal(err)
	}
	_ = first.Wait()
	before, _ := filepath.Glob(filepath.Join(broken, "answers-*"))
	if len(before) >= *manyShards {
		t.Errorf("the kill came after the end: %d shards", len(before))
	}
	said, err = pipeline(broken).Output()
	if err != nil {
		t.Fatalf("the second submission: %v", err)
	}
	if err := json.Unmarshal(said, &counts); err != nil || counts.ShardsThere != int64(len(before)) {
		t.Errorf("%d shards were there, counts are %+v, %v", len(before), counts, err)
	}

	want := plainly(t, all)
	want = append(want, answerOf(t, unbroken, "gone.musicxml"))
	slices.Sort(want)
	for name, got := range map[string][]string{"unbroken": answered(t, unbroken), "broken": answered(t, broken)} {
		if !slices.Equal(got, want) {
			t.Errorf("%s: %d answers, want %d with the same bytes", name, len(got), len(want))
		}
	}
	for n := range *manyShards {
		one, _ := os.ReadFile(filepath.Join(unbroken, shard.Name(n, *manyShards)))
		other, _ := os.ReadFile(filepath.Join(broken, shard.Name(n, *manyShards)))
		if !bytes.Equal(one, other) {
			t.Errorf("shard %d differs", n)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(broken, ".part-*")); len(left) != 0 {
		t.Errorf("left behind: %q", left)
	}
}

// stderrOf is the end of what a program said before it failed.
func stderrOf(err error) []byte {
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return exit.Stderr
	}
	return nil
}

// answerOf is the line about a score.
func answerOf(t *testing.T, out, name string) string {
	t.Helper()
	for _, line := range answered(t, out) {
		if strings.Contains(line, name) {
			return line
		}
	}
	t.Errorf("nothing is said of %s", name)
	return ""
}

// What is wrong is said before anything is submitted.
func TestWrongSettingsAreRefused(t *testing.T) {
	for _, s := range []*settings{
		{}, {manifest: "m", out: "o"}, {manifest: "m", out: "o", shards: 2, options: "no-such=1"},
		{manifest: "m", out: "o", shards: 2, options: "rules=no-such"}, {manifest: "m", out: "o", shards: 2, options: "%"},
	} {
		if err := run(t.Context(), s); err == nil {
			t.Errorf("%+v was taken", s)
		}
	}
}
