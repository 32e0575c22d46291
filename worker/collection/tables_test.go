package collection_test

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"partwright/worker/collection"
	"partwright/worker/report"
)

// hymn is the answer to a score, with a finding, and a cadence that ends on the third of
// its harmonies.
func hymn() *report.Report {
	r := &report.Report{
		File: "a/hymn.musicxml", Engine: "test", RuleSet: "strict-chorale",
		Texture: &report.Texture{Kind: "choir"}, HandIn: &report.HandIn{Complete: true},
		Identity: &report.Identity{SHA256: "1f", Music: "2e", Shape: "3d"},
		Score: report.Score{Title: "Hymn", Composer: "us", Key: "G minor", Parts: 2, Measures: 1, Notes: 16, Quarters: "7/2",
			Voices: []report.Voice{{Name: "S"}, {Name: "B"}}},
		Summary: report.Summary{Faults: 1},
		Findings: []report.Finding{{
			Number: 1, Rule: "parallel-fifths", Family: "consecutives", Severity: "fault", Measure: "1", Beat: 2.5, Onset: "3/2",
			Key: "G minor", Numeral: "V7", Voices: []string{"S", "B"}, Notes: []report.Note{{Pitch: "D5", Line: 12}, {Pitch: "G3"}}, Message: "m",
		}},
		Analysis: &report.Analysis{},
	}
	place := func(onset string) report.Place { return report.Place{Measure: "1", Beat: 1, Onset: onset} }
	for i, numeral := range []string{"N6", "V7", "VI"} {
		onset := []string{"0", "1", "2", "7/2"}
		r.Analysis.Harmonies = append(r.Analysis.Harmonies, report.Harmony{Place: place(onset[i]), End: onset[i+1], Key: "G minor", Numeral: numeral, Confidence: 0.75})
	}
	r.Analysis.Cadences = []report.Cadence{{Place: place("2"), Kind: "DC", Key: "G minor", From: "V7", To: "VI", Soprano: 3}}
	return r
}

// rowsOf reads a table back.
func rowsOf[Row any](t *testing.T, file *bytes.Buffer) []Row {
	t.Helper()
	rows, err := parquet.Read[Row](bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func TestTables(t *testing.T) {
	files := map[string]*bytes.Buffer{}
	to := map[string]io.Writer{}
	for _, name := range collection.Names {
		files[name] = &bytes.Buffer{}
		to[name] = files[name]
	}
	tables := collection.Open(collection.Origin{Engine: "test", Batch: "hymns"}, to)
	for _, err := range []error{
		tables.Report(hymn()), tables.Failure(&report.Failure{File: "b.mxl", Code: "empty"}), tables.Report(hymn()), tables.Close(),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	scores := rowsOf[collection.Score](t, files[collection.Scores])
	if len(scores) != 3 || scores[0].Outcome != "checked" || scores[1].Outcome != "failed" || scores[1].Problem != "empty" || scores[2].Score != 3 {
		t.Fatalf("scores %+v", scores)
	}
	if s := scores[0]; s.Batch != "hymns" || s.HomeKey != "G minor" || s.HomeMode != "minor" || s.Quarters != 3.5 || s.Voices != 2 || s.Faults != 1 || s.SHA256 != "1f" || !s.Complete {
		t.Errorf("score %+v", s)
	}
	findings := rowsOf[collection.Finding](t, files[collection.Findings])
	if len(findings) != 2 {
		t.Fatalf("findings %+v", findings)
	}
	if f := findings[1]; f.Score != 3 || f.File != "a/hymn.musicxml" || f.Voices != "S B" || f.Pitches != "D5 G3" || f.Mode != "minor" || f.Numeral != "V7" || f.Onset != 1.5 || f.Line != 12 {
		t.Errorf("finding %+v", f)
	}
	harmonies := rowsOf[collection.Harmony](t, files[collection.Harmonies])
	if len(harmonies) != 6 {
		t.Fatalf("harmonies %+v", harmonies)
	}
	if h := harmonies[1]; h.Before != "N6" || h.Numeral != "V7" || h.After != "VI" || h.End != 2 || h.Number != 2 {
		t.Errorf("harmony %+v", h)
	}
	cadences := rowsOf[collection.Cadence](t, files[collection.Cadences])
	if len(cadences) != 2 {
		t.Fatalf("cadences %+v", cadences)
	}
	if c := cadences[0]; c.Kind != "DC" || c.Approach != "N6" || c.From != "V7" || c.To != "VI" || c.Soprano != 3 {
		t.Errorf("cadence %+v", c)
	}
	for _, info := range tables.Manifest().Tables {
		want := map[string]int64{collection.Scores: 3, collection.Findings: 2, collection.Harmonies: 6, collection.Cadences: 2}[info.Name]
		if info.Rows != want {
			t.Errorf("the manifest says %d rows of %s, want %d", info.Rows, info.Name, want)
		}
		for _, c := range info.Columns {
			if c.Name == "" || c.About == "" {
				t.Errorf("%s has a column that nothing is said about: %+v", info.Name, c)
			}
		}
	}
}

// README.md describes every column of every table in the words of the manifest.
func TestColumnsAreDescribed(t *testing.T) {
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	var want strings.Builder
	for _, table := range collection.Describe() {
		fmt.Fprintf(&want, "### %s\n\n| column | type | holds |\n|---|---|---|\n", table.Name)
		for _, c := range table.Columns {
			fmt.Fprintf(&want, "| `%s` | %s | %s |\n", c.Name, c.Type, c.About)
		}
		want.WriteString("\n")
	}
	whole, after, ok := strings.Cut(string(text), "with them. `manifest.json` lists the same columns with their types.\n\n")
	if !ok {
		t.Fatal("README.md has lost the place of the columns")
	}
	if *update {
		rest := whole + strings.TrimSuffix("with them. `manifest.json` lists the same columns with their types.\n\n"+want.String(), "\n")
		if err := os.WriteFile("README.md", []byte(rest), 0o600); err != nil {
			t.Fatal(err)
		}
		return
	}
	if after+"\n" != want.String() {
		t.Error("README.md describes other columns: go test ./worker/collection -update")
	}
}

var update = flag.Bool("update", false, "rewrite the columns in README.md")
