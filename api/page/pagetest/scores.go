package pagetest

import (
	"archive/zip"
	"os"
	"path/filepath"
	"testing"
)

// Class is the path of a score of the demo class.
func Class(t *testing.T, name string) string {
	t.Helper()
	path, err := filepath.Abs(above(filepath.Join("testdata/class", name)))
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// above finds a file by its path from the folder that the tests run in or one above it:
// the tests that use this package run in several.
func above(path string) string {
	for at, deep := path, 0; deep < 6; at, deep = filepath.Join("..", at), deep+1 {
		if _, err := os.Stat(at); err == nil {
			return at
		}
	}
	return path
}

// Archive packs the demo class.
func Archive(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "class.zip")
	file, err := os.Create(path) // #nosec G304 -- the test's own folder
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }()
	w := zip.NewWriter(file)
	for _, name := range []string{"hand-in", "keyboard", "model", "worksheet"} {
		entry, err := w.Create("class/" + name + ".musicxml")
		if err == nil {
			_, err = entry.Write([]byte(ReadText(t, Class(t, name+".musicxml"))))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// ReadText is what stands in a file.
func ReadText(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name) // #nosec G304 -- the test's own words
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
