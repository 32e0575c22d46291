package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// alike runs check and batch over the same paths with the same flags, and wants the
// same status and folders that hold the same files, byte for byte: alike FLAG… PATH…
func alike(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: alike FLAG… PATH…")
	}
	at, err := os.MkdirTemp(ts.MkAbs("."), "alike")
	ts.Check(err)
	var exits [2]int
	var files [2]map[string]string
	for i, command := range []string{"check", "batch"} {
		out := filepath.Join(at, command)
		var exit *exec.ExitError
		if err := ts.Exec("partwright", append([]string{command, "--quiet", "--out", out}, args...)...); errors.As(err, &exit) {
			exits[i] = exit.ExitCode()
		} else if err != nil {
			ts.Fatalf("%v", err)
		}
		files[i] = filesBelow(ts, out)
	}
	if exits[0] != exits[1] {
		ts.Fatalf("check ends with %d, batch with %d", exits[0], exits[1])
	}
	same(ts, files[0], files[1])
}

// same wants the files that check wrote of batch.
func same(ts *testscript.TestScript, check, batch map[string]string) {
	if len(check) == 0 {
		ts.Fatalf("nothing was written")
	}
	for name := range maps.Keys(batch) {
		if _, ok := check[name]; !ok {
			ts.Fatalf("batch alone wrote %s", name)
		}
	}
	for name, text := range check {
		if other, ok := batch[name]; !ok {
			ts.Fatalf("batch did not write %s", name)
		} else if other != text {
			ts.Fatalf("%s differs:\n%.2000s\n%.2000s", name, text, other)
		}
	}
}

// filesBelow reads every file below a folder, by its path there.
func filesBelow(ts *testscript.TestScript, folder string) map[string]string {
	files := map[string]string{}
	root := os.DirFS(folder)
	ts.Check(fs.WalkDir(root, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := fs.ReadFile(root, name)
		files[name] = string(data)
		return err
	}))
	return files
}

// many makes copies of a score that differ in a comment: many COUNT SCORE FOLDER
func many(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: many COUNT SCORE FOLDER")
	}
	count, err := strconv.Atoi(args[0])
	ts.Check(err)
	text, folder := ts.ReadFile(args[1]), ts.MkAbs(args[2])
	ts.Check(os.MkdirAll(folder, 0o750))
	for i := range count {
		name := filepath.Join(folder, fmt.Sprintf("%04d.musicxml", i))
		ts.Check(os.WriteFile(name, fmt.Appendf([]byte(text), "<!-- %d -->\n", i), 0o600))
	}
}

// kills starts partwright batch again and again and kills it at some moment, until it
// was so often, then lets it end; its answers must be those of check: kills COUNT FLAG…
// PATH…
func kills(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: kills COUNT FLAG… PATH…")
	}
	count, err := strconv.Atoi(args[0])
	ts.Check(err)
	at, err := os.MkdirTemp(ts.MkAbs("."), "kills")
	ts.Check(err)
	check, batch := filepath.Join(at, "check"), filepath.Join(at, "batch")
	ts.Check(ts.Exec("partwright", append([]string{"check", "--quiet", "--out", check}, args[1:]...)...))
	want := filesBelow(ts, check)

	program := filepath.Join(strings.Split(ts.Getenv("PATH"), string(os.PathListSeparator))[0], "partwright")
	run := append([]string{"batch", "--quiet", "--out", batch}, args[1:]...)
	for killed := 0; killed < count; {
		cmd := exec.Command(program, run...) // #nosec G204 -- this program
		cmd.Dir = ts.MkAbs(".")
		var said bytes.Buffer
		cmd.Stdout, cmd.Stderr = &said, &said
		ts.Check(cmd.Start())
		late := time.AfterFunc(time.Duration(20+rand.IntN(400))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		err := cmd.Wait()
		late.Stop()
		if err == nil { // it came to its end
			same(ts, want, filesBelow(ts, batch))
			ts.Check(os.RemoveAll(batch))
			continue
		}
		if cmd.ProcessState.ExitCode() != -1 {
			ts.Fatalf("it ended by itself: %v: %s", err, said.String())
		}
		killed++
	}
	ts.Check(ts.Exec("partwright", run...))
	same(ts, want, filesBelow(ts, batch))
}
