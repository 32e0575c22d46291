package musicxml

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

var everyScore = flag.Bool("every-score", false, "mark every score of the measuring data, not a sample")

// scores lists the scores of a folder.
func scores(t testing.TB, folder string) (paths []string) {
	t.Helper()
	files, err := os.ReadDir(corpus(t, folder))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		switch filepath.Ext(f.Name()) {
		case ".mxl", ".xml", ".musicxml":
			paths = append(paths, filepath.Join(corpus(t, folder), f.Name()))
		}
	}
	if len(paths) == 0 {
		t.Fatalf("no scores in %s", folder)
	}
	return paths
}

// TestMarksOnPublishedScores holds the laws of marking on real scores: bytes come
// back, marking is idempotent, the music reads the same.
func TestMarksOnPublishedScores(t *testing.T) {
	for _, folder := range []string{"import-suite", "bulk", "chorales-open", "chorales-closed", "mutants"} {
		t.Run(folder, func(t *testing.T) {
			marked, refused := 0, 0
			for i, path := range scores(t, folder) {
				if !*everyScore && i%6 != 0 {
					continue
				}
				data, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := Read(path, data, Limits{}); err != nil {
					refused++
					continue
				}
				checkLaws(t, filepath.Base(path), data)
				marked++
			}
			t.Logf("%d scores marked, %d not readable", marked, refused)
			if marked == 0 {
				t.Error("none was marked")
			}
		})
	}
}

// validator runs xmllint with the W3C schema of MusicXML 4.0.
type validator struct{ schema string }

func newValidator(t *testing.T) validator {
	if _, err := exec.LookPath("xmllint"); err != nil {
		t.Skip("xmllint is not here; install libxml2-utils to check against the schema")
	}
	schema, err := filepath.Abs(corpus(t, "musicxml-schema"))
	if err != nil {
		t.Fatal(err)
	}
	return validator{schema}
}

// invalid returns what the schema has against each of some files, by path.
func (v validator) invalid(t *testing.T, paths []string) map[string]string {
	t.Helper()
	args := append([]string{"--nonet", "--noout", "--schema", filepath.Join(v.schema, "musicxml.xsd")}, paths...)
	cmd := exec.Command("xmllint", args...)
	cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+filepath.Join(v.schema, "catalog.xml"))
	out, _ := cmd.CombinedOutput() // the exit status only says that some file fails
	problems, validated := map[string]string{}, 0
	for line := range strings.Lines(string(out)) {
		path, rest, _ := strings.Cut(strings.TrimSpace(line), ":")
		switch {
		case strings.HasSuffix(path, " validates"):
			validated++
		case problems[path] == "" && rest != "":
			problems[path] = rest
		}
	}
	if validated == 0 && len(problems) == 0 {
		t.Fatalf("xmllint said nothing of use: %s", out)
	}
	return problems
}

// TestMarkedScoresAreValid: where the score was valid, so is the marked score.
func TestMarkedScoresAreValid(t *testing.T) {
	v := newValidator(t)
	dir := t.TempDir()
	var before, after []string
	add := func(name string, data []byte) {
		d, err := Read(name, data, Limits{})
		if err != nil {
			return
		}
		text, err := newMarkerText(d)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, file := range []struct {
			suffix string
			text   []byte
			list   *[]string
		}{{"-before.xml", d.tree.Text, &before}, {"-after.xml", text, &after}} {
			path := filepath.Join(dir, fmt.Sprint(len(before), file.suffix))
			if file.suffix == "-after.xml" {
				path = filepath.Join(dir, fmt.Sprint(len(after), file.suffix))
			}
			if err := os.WriteFile(path, asUTF8Text(file.text), 0o600); err != nil {
				t.Fatal(err)
			}
			*file.list = append(*file.list, path)
		}
	}
	for _, tt := range markDocuments {
		add(tt.name, tt.data)
	}
	for _, folder := range []string{"import-suite", "bulk", "chorales-open", "chorales-closed"} {
		for i, path := range scores(t, folder) {
			if !*everyScore && folder != "import-suite" && i%10 != 0 {
				continue
			}
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			add(path, data)
		}
	}
	wasInvalid, isInvalid := v.invalid(t, before), v.invalid(t, after)
	for i, path := range after {
		if problem := isInvalid[path]; problem != "" && wasInvalid[before[i]] == "" {
			t.Errorf("%s: %s", path, problem)
		}
	}
	t.Logf("%d scores, %d were valid before marking", len(before), len(before)-len(wasInvalid))
	if len(wasInvalid) == len(before) {
		t.Error("no score was valid to begin with")
	}
}

// newMarkerText marks a document and returns the text, without its container.
func newMarkerText(d *Document) ([]byte, error) {
	m := sampleMarks(d, 0)
	return newMarker(d.tree).mark(d, d.places, &m)
}

// asUTF8Text makes the declaration of a decoded text true.
func asUTF8Text(text []byte) []byte {
	for _, name := range []string{"UTF-16", "ISO-8859-1", "US-ASCII", "utf-16", "iso-8859-1"} {
		text = bytes.Replace(text, []byte(`encoding="`+name+`"`), []byte(`encoding="UTF-8"`), 1)
	}
	return text
}
