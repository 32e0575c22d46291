package container

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestMeasuringData opens every container of the measuring data, where it is
// there, and compares with the table that says which are sound.
func TestMeasuringData(t *testing.T) {
	const folder = "../../../shared/data"
	table, err := os.Open(filepath.Join(folder, "hostile", "EXPECT.tsv"))
	if err != nil {
		t.Skip("no measuring data beside the project")
	}
	defer func() { _ = table.Close() }()
	r := csv.NewReader(table)
	r.Comma, r.LazyQuotes = '\t', true
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		if filepath.Ext(row[0]) != ".mxl" || row[2] == "generate" {
			continue
		}
		data, err := os.ReadFile(filepath.Join(folder, "hostile", row[0]))
		if err != nil {
			t.Fatal(err)
		}
		c, err := Open(data, Limits{})
		switch expect := row[3]; {
		case expect == "accept" && (err != nil || !strings.Contains(string(c.Score), "</score-partwise>")):
			t.Errorf("%s: %v; %s", row[0], err, row[5])
		case expect == "refuse" && err == nil:
			t.Errorf("%s is read; %s", row[0], row[5])
		case expect == "flag" && err == nil && !c.Unlisted:
			t.Errorf("%s is read in silence; %s", row[0], row[5])
		}
		t.Logf("%s: %v", row[0], err)
	}
	sound, err := filepath.Glob(folder + "/*/*.mxl")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sound {
		if filepath.Base(filepath.Dir(name)) == "hostile" {
			continue
		}
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Open(data, Limits{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
