package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// TestNetsAreThoseThatAreTrained trains both nets anew and holds what is in the repository
// to them, byte for byte: what a command is said to make it must make.
func TestNetsAreThoseThatAreTrained(t *testing.T) {
	if testing.Short() {
		t.Skip("trains two nets")
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors round products and sums at once, which amounts to other bytes")
	}
	data := filepath.Join("..", "..", "..", "shared", "data")
	if _, err := os.Stat(filepath.Join(data, setFiles["chorales"].labels)); err != nil {
		t.Skipf("no labels to train on: %v", err)
	}
	out := t.TempDir()
	if err := trainNets(data, out); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"net-chorale.bin", "net-free.bin"} {
		trained, err := os.ReadFile(filepath.Join(out, name)) // #nosec G304 -- the test's own
		if err != nil {
			t.Fatal(err)
		}
		kept, err := os.ReadFile(filepath.Join("..", "..", "theory", "harmony", name)) // #nosec G304 -- the repository's
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(trained, kept) {
			t.Errorf("%s is not what \"go run ./worker/fitharmony nets\" makes: run it, and measure", name)
		}
	}
}

// TestLinesAreThoseThatAreFitted fits the chords under melodies and over basses anew and holds
// the tables in the repository to them, as for the nets.
func TestLinesAreThoseThatAreFitted(t *testing.T) {
	if testing.Short() {
		t.Skip("fits two tables")
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors round products and sums at once, which amounts to other weights")
	}
	data := filepath.Join("..", "..", "..", "shared", "data")
	if _, err := os.Stat(filepath.Join(data, setFiles["chorales"].labels)); err != nil {
		t.Skipf("no labels to learn from: %v", err)
	}
	for _, g := range []*given{melodyLines, bassLines} {
		out := t.TempDir()
		if err := os.Mkdir(filepath.Join(out, "tune"), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := g.fit(io.Discard, data, out, false); err != nil {
			t.Fatal(err)
		}
		fitted, err := os.ReadFile(filepath.Join(out, "tune", g.file)) // #nosec G304 -- the test's own
		if err != nil {
			t.Fatal(err)
		}
		kept, err := os.ReadFile(filepath.Join("..", "..", "theory", "harmony", "tune", g.file)) // #nosec G304 -- the repository's
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(fitted, kept) {
			t.Errorf("tune/%s is not what its command in worker/fitharmony makes: run it, and measure", g.file)
		}
	}
}
