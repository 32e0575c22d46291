package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// layers are the packages from the bottom up. One may import those below it and
// its own subpackages, never those above.
var layers = []string{"partwright/theory", "partwright/musicxml", "partwright/worker", "partwright/api", "partwright/deploy", "partwright"}

// onlyIn keeps a library to the layer, or the package, that is meant to know it.
var onlyIn = map[string]string{
	"github.com/gin-gonic/gin": "partwright/api",
	"net/http":                 "partwright/api",
	"github.com/spf13/cobra":   "partwright/api/command",
	// Below main, spans are begun and nobody knows where they go.
	"go.opentelemetry.io/otel/sdk/trace": "partwright",
}

// unknownToTheory is what a package of plain values has no use for.
var unknownToTheory = []string{"encoding/xml", "net", "net/http", "database/sql", "log", "log/slog", "os", "time"}

// inTheory is the order inside theory, from the bottom up; the packages of one
// line do not know one another.
var inTheory = [][]string{
	{"partwright/theory"},
	{"partwright/theory/harmony/beatnet", "partwright/theory/texture"},
	{"partwright/theory/separation", "partwright/theory/harmony", "partwright/theory/theorytest"},
	{"partwright/theory/partwriting", "partwright/theory/harmony/tune"},
	{"partwright/theory/voicing"},
}

// inWorker is the same inside worker: the engine stands on what it reads and
// answers, and knows nothing of the folders, pools and stores that run it.
var inWorker = [][]string{
	{"partwright/worker/address"},
	{"partwright/worker/fingerprint", "partwright/worker/stage", "partwright/worker/spelling", "partwright/worker/store", "partwright/worker/fitharmony"},
	{"partwright/worker/settings", "partwright/worker/account", "partwright/worker/queue", "partwright/worker/store/storetest"},
	{"partwright/worker/report", "partwright/worker/request"},
	{"partwright/worker/answer"},
	{"partwright/worker"},
	{"partwright/worker/files", "partwright/worker/pool", "partwright/worker/wall"},
	{"partwright/worker/collection", "partwright/worker/classroom", "partwright/worker/shard"},
	{"partwright/worker/classroom/classtest", "partwright/worker/classroom/classbook"},
	{"partwright/worker/batch"},
}

type listed struct {
	ImportPath                         string
	Imports, TestImports, XTestImports []string
}

func listPackages(t *testing.T) []listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports", "./...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var packages []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return packages
		} else if err != nil {
			t.Fatal(err)
		}
		packages = append(packages, p)
	}
}

// layerOf returns the index of the layer a package belongs to, -1 for none.
func layerOf(path string) int {
	for i, layer := range layers {
		if path == layer || layer != "partwright" && strings.HasPrefix(path, layer+"/") {
			return i
		}
	}
	return -1
}

// TestImportsPointOneWay holds the packages to their order: main wires api, api
// uses worker, worker uses musicxml, musicxml uses theory, and nothing turns
// back. An import against the arrow makes the lower package unusable without the
// upper one, and the music untestable with plain values.
func TestImportsPointOneWay(t *testing.T) {
	packages := listPackages(t)
	if len(packages) < len(layers) {
		t.Fatalf("go list named %d packages, fewer than there are layers", len(packages))
	}
	for _, p := range packages {
		layer := layerOf(p.ImportPath)
		if layer < 0 {
			t.Errorf("%s belongs to no layer: %v", p.ImportPath, layers)
			continue
		}
		for _, imported := range slices.Concat(p.Imports, p.TestImports, p.XTestImports) {
			if strings.HasPrefix(imported, "partwright") && layerOf(imported) > layer {
				t.Errorf("%s imports %s, which lies above it", p.ImportPath, imported)
			}
		}
		for library, allowed := range onlyIn {
			if slices.Contains(p.Imports, library) && p.ImportPath != allowed && layers[layer] != allowed {
				t.Errorf("%s imports %s, which only %s may", p.ImportPath, library, allowed)
			}
		}
		switch layers[layer] {
		case "partwright/theory":
			checkTheory(t, p)
		case "partwright/worker":
			checkOrder(t, p, layers[layer], inWorker)
		}
	}
}

// checkOrder lets a package of a layer import those of the layer that stand below it.
func checkOrder(t *testing.T, p listed, layer string, order [][]string) {
	place := func(path string) int {
		return slices.IndexFunc(order, func(line []string) bool { return slices.Contains(line, path) })
	}
	own := place(p.ImportPath)
	if own < 0 {
		t.Errorf("%s has no place in the order inside %s: %v", p.ImportPath, layer, order)
	}
	for _, imported := range p.Imports {
		if (imported == layer || strings.HasPrefix(imported, layer+"/")) && place(imported) >= own {
			t.Errorf("%s imports %s, which does not stand below it in %s", p.ImportPath, imported, layer)
		}
	}
}

// checkTheory lets theory import nothing but itself, in its order, and the part of
// the standard library that computes.
func checkTheory(t *testing.T, p listed) {
	checkOrder(t, p, "partwright/theory", inTheory)
	for _, imported := range p.Imports {
		first, _, _ := strings.Cut(imported, "/")
		switch {
		case slices.Contains(unknownToTheory, imported):
			t.Errorf("%s imports %s: theory has no files, clock, log or network", p.ImportPath, imported)
		case strings.Contains(first, ".") && layerOf(imported) < 0:
			t.Errorf("%s imports %s: theory uses the standard library only", p.ImportPath, imported)
		}
	}
}
