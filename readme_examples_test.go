package main

import (
	"bytes"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// example is a command of a document with the lines that it shows of the output.
type example struct {
	command string
	shown   []string
}

// TestReadmeShowsWhatComesOut runs every command that stands after a prompt in the
// README, one after the other in one folder, and wants the lines below it: in
// order, with nothing between them except where a line says "…".
func TestReadmeShowsWhatComesOut(t *testing.T) {
	for _, tool := range []string{"sh", "curl", "grep"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("the examples need %s: %v", tool, err)
		}
	}
	program, err := exec.LookPath("partwright")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.CopyFS(filepath.Join(folder, "testdata"), os.DirFS("testdata")); err != nil {
		t.Fatal(err)
	}
	examples := examplesOf(readText(t, "README.md"))
	if len(examples) < 6 {
		t.Fatalf("the README shows %d commands; are they still found?", len(examples))
	}
	addr, err := freeAddress()
	if err != nil {
		t.Fatal(err)
	}
	run := func(command string) *exec.Cmd {
		command = strings.NewReplacer("./partwright", program, "127.0.0.1:8080", addr).Replace(command)
		cmd := exec.Command("sh", "-c", command)
		cmd.Dir = folder
		cmd.Env = append(os.Environ(), "COLUMNS=80", "PARTWRIGHT_ADDR="+addr, "PARTWRIGHT_OPERATOR_ADDR=off")
		return cmd
	}
	for _, e := range examples {
		if service, ok := strings.CutSuffix(e.command, " &"); ok {
			startService(t, run("exec "+service), addr)
			continue
		}
		var out bytes.Buffer
		cmd := run(e.command)
		cmd.Stdout, cmd.Stderr = &out, &out
		if err := cmd.Run(); err != nil {
			t.Errorf("%s: %v\n%s", e.command, err, out.String())
		} else if line, ok := shows(strings.Split(out.String(), "\n"), e.shown); !ok {
			t.Errorf("%s does not print the README's line\n%s\nwhere it stands, but\n%s", e.command, line, out.String())
		}
	}
}

// startService starts a service that ends with the test, once it listens.
func startService(t *testing.T, cmd *exec.Cmd, addr string) {
	t.Helper()
	var log bytes.Buffer
	cmd.Stderr = &log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if t.Failed() {
			t.Logf("the service said:\n%s", log.String())
		}
	})
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if c, err := net.Dial("tcp", addr); err == nil {
			_ = c.Close()
			return
		}
	}
	t.Fatalf("nothing listens on %s", addr)
}

// examplesOf returns the commands in the blocks of kind console, each with the
// lines up to the next command.
func examplesOf(document string) []example {
	var examples []example
	for _, block := range regexp.MustCompile("(?s)\n```console\n(.*?)\n```\n").FindAllStringSubmatch(document, -1) {
		for line := range strings.SplitSeq(block[1], "\n") {
			if command, ok := strings.CutPrefix(line, "$ "); ok {
				examples = append(examples, example{command: command})
			} else if last := len(examples) - 1; last >= 0 {
				examples[last].shown = append(examples[last].shown, line)
			}
		}
	}
	return examples
}

// shows reports whether the lines stand in the output, and which is missing.
func shows(output, lines []string) (missing string, ok bool) {
	at, gap := 0, false
	for _, line := range lines {
		if line == "…" {
			gap = true
			continue
		}
		for gap && at < len(output) && strings.TrimRight(output[at], " ") != line {
			at++
		}
		if at >= len(output) || strings.TrimRight(output[at], " ") != line {
			return line, false
		}
		at, gap = at+1, false
	}
	return "", true
}

func TestShowsFindsAMissingLine(t *testing.T) {
	output := []string{"one", "two  ", "three", "four"}
	for _, c := range []struct {
		lines   []string
		missing string
	}{
		{[]string{"one", "two"}, ""},
		{[]string{"one", "…", "four"}, ""},
		{[]string{"…", "two", "three"}, ""},
		{[]string{"two"}, "two"},
		{[]string{"one", "three"}, "three"},
		{[]string{"…", "four", "one"}, "one"},
		{[]string{"one", "…", "five"}, "five"},
	} {
		if missing, _ := shows(output, c.lines); missing != c.missing {
			t.Errorf("%q: %q is missing, want %q", c.lines, missing, c.missing)
		}
	}
}

// TestFilesOfATeacherAreRead runs the program over the files that the document on
// them shows.
func TestFilesOfATeacherAreRead(t *testing.T) {
	program, err := exec.LookPath("partwright")
	if err != nil {
		t.Fatal(err)
	}
	const name = "worker/README.md"
	blocks := regexp.MustCompile("(?s)\n```yaml\n(.*?\n)```\n").FindAllStringSubmatch(readText(t, name), -1)
	if len(blocks) < 2 {
		t.Fatalf("%s shows %d files; are they still found?", name, len(blocks))
	}
	for _, block := range blocks {
		file := filepath.Join(t.TempDir(), "own.yaml")
		if err := os.WriteFile(file, []byte(block[1]), 0o600); err != nil {
			t.Fatal(err)
		}
		args := []string{"check", "--quiet", "--rubric", file, "testdata/class/hand-in.musicxml"}
		if strings.Contains(block[1], "based-on:") {
			args = []string{"rules", "--set", file}
		}
		if out, err := exec.Command(program, args...).CombinedOutput(); err != nil {
			t.Errorf("%s shows a file that is not read: %v\n%s\n%s", name, err, out, block[1])
		}
	}
}
