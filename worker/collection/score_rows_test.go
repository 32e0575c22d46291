package collection_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/worker/collection"
	"partwright/worker/report"
)

// A row of CSV says what the row of the table says; of a score that failed only what is
// known stands in it.
func TestScoresAsCSV(t *testing.T) {
	marked := hymn()
	marked.HandIn = &report.HandIn{Problems: []report.Problem{{Kind: "voice-stops"}, {Kind: "measure-short"}}}
	marked.Grade = &report.Grade{Earned: "7.5", Available: "10"}
	marked.Score.HarmonyStyle = "chorale"
	marked.Summary.ByRule = map[string]int{"spacing": 1, "range": 1}
	marked.Score.Title = "=1+1"
	var b strings.Builder
	out := collection.EncodeScoresCSV(&b)
	for _, err := range []error{out.Report(marked), out.Failure(&report.Failure{File: "b.mxl", Code: "empty"}), out.Report(&report.Mending{}), out.Report(hymn()), out.Close()} {
		if err != nil {
			t.Fatal(err)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, table := range collection.Describe() {
		if table.Name == collection.Scores {
			for _, c := range table.Columns {
				names = append(names, c.Name)
			}
		}
	}
	if diff := cmp.Diff(names[1:], rows[0]); diff != "" {
		t.Errorf("columns, the table's -, as CSV +:\n%s", diff)
	}
	for i, want := range []map[string]string{
		{
			"score": "1", "outcome": "checked", "title": "'=1+1", "home_key": "G minor", "home_mode": "minor", "quarters": "3.5", "voices": "2",
			"complete": "false", "problems": "voice-stops measure-short", "commonest_rule": "range", "earned": "7.5", "available": "10",
			"harmony_style": "chorale", "cautions": "0",
		},
		{"score": "2", "file": "b.mxl", "outcome": "failed", "problem": "empty", "complete": "", "faults": "", "earned": ""},
		{"score": "4", "complete": "true", "earned": "", "faults": "1"},
	} {
		got := map[string]string{}
		for k, name := range rows[0] {
			if _, asked := want[name]; asked {
				got[name] = rows[i+1][k]
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("row %d, want -, got +:\n%s", i+1, diff)
		}
	}
}
