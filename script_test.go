package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
)

var update = flag.Bool("update", false, "rewrite the expected outputs in testdata/script")

func TestMain(m *testing.M) {
	if isChild(os.Args) { // a service of a test has started this program again
		os.Exit(workForParent())
	}
	testscript.Main(m, map[string]func(){"partwright": func() {
		release = "test"
		main()
	}})
}

// TestScripts runs the whole program as a shell would, over the demo class and
// the tasks in testdata. Each script says at its top what it shows.
func TestScripts(t *testing.T) {
	testdata, err := filepath.Abs("testdata")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			for _, name := range []string{"ADDR", "OPERATOR_ADDR"} {
				addr, err := freeAddress()
				if err != nil {
					return err
				}
				e.Setenv(name, addr)
			}
			for _, folder := range []string{"class", "tasks"} {
				if err := os.CopyFS(filepath.Join(e.WorkDir, folder), os.DirFS(filepath.Join(testdata, folder))); err != nil {
					return err
				}
			}
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"await":  await,
			"exits":  exits,
			"mxl":    packMXL,
			"zip":    packZip,
			"targz":  packTarGz,
			"alike":  alike,
			"many":   many,
			"kills":  kills,
			"handin": handIn,
		},
	})
}

// exits runs a command that must end with a status: exits 3 partwright check …
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// freeAddress returns an address of this machine that nothing listens on.
func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	return l.Addr().String(), l.Close()
}

// await waits until something listens: await ADDRESS
func await(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: await ADDRESS")
	}
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if c, err := net.Dial("tcp", args[0]); err == nil {
			ts.Check(c.Close())
			return
		}
	}
	ts.Fatalf("nothing listens on %s", args[0])
}

// packMXL packs a score into a container: mxl SCORE CONTAINER
func packMXL(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mxl SCORE CONTAINER")
	}
	const listing = `<?xml version="1.0" encoding="UTF-8"?>
<container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles></container>
`
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, entry := range []struct{ name, text string }{
		{"META-INF/container.xml", listing}, {"score.musicxml", ts.ReadFile(args[0])},
	} {
		f, err := w.Create(entry.name)
		ts.Check(err)
		_, err = io.WriteString(f, entry.text)
		ts.Check(err)
	}
	ts.Check(w.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o600))
}

// packZip packs files under their names as given: zip ARCHIVE FILE…
func packZip(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: zip ARCHIVE FILE…")
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, name := range args[1:] {
		f, err := w.Create(name)
		ts.Check(err)
		_, err = io.WriteString(f, ts.ReadFile(name))
		ts.Check(err)
	}
	ts.Check(w.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), out.Bytes(), 0o600))
}

// packTarGz packs files under their names as given: targz ARCHIVE FILE…
func packTarGz(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: targz ARCHIVE FILE…")
	}
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	w := tar.NewWriter(z)
	for _, name := range args[1:] {
		text := ts.ReadFile(name)
		ts.Check(w.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(text)), Typeflag: tar.TypeReg}))
		_, err := io.WriteString(w, text)
		ts.Check(err)
	}
	ts.Check(w.Close())
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), out.Bytes(), 0o600))
}

// handIn puts what a class hands in into the folder of an assignment, and a roster with
// one who has not: handin FOLDER
func handIn(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: handin FOLDER")
	}
	name := ts.MkAbs(args[0])
	f, err := classroom.OpenFolder(name)
	ts.Check(err)
	scores, err := classtest.HandIns(f.Assignment)
	ts.Check(err)
	ts.Check(f.Close())
	for reference, score := range scores {
		ts.Check(os.WriteFile(filepath.Join(name, classroom.HandInsFolder, reference+".musicxml"), score, 0o600))
	}
}
