package worker

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

func handIn(t *testing.T) Input {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "class", "hand-in.musicxml"))
	if err != nil {
		t.Fatal(err)
	}
	return Input{Name: "hand-in.musicxml", Data: data}
}

// faultsOf lists the faults of a document as rule@measure.
func faultsOf(t *testing.T, data []byte) []string {
	t.Helper()
	doc, err := musicxml.Read("score.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, f := range partwriting.Check(separation.FindVoices(doc.Score), nil, nil) {
		if f.Severity == partwriting.Fault {
			out = append(out, string(f.Rule)+"@"+doc.Score.MeasureAt(f.Onset).Label)
		}
	}
	return out
}

// Every way takes all faults out, the smallest change first, and no two are one.
func TestWaysToMend(t *testing.T) {
	in := handIn(t)
	result, said := done[*report.Mending](t, in, &request.Mend{}, "alternatives", "3", "both", "true")
	all := scoresOf(result, answer.Mended)
	if len(all) != 3 || len(said.Alternatives) != 2 {
		t.Fatalf("%d scores, %d further ways in the report", len(all), len(said.Alternatives))
	}
	for i, data := range all {
		if left := faultsOf(t, data); len(left) != 0 {
			t.Errorf("way %d leaves %v", i+1, left)
		}
		for _, other := range all[:i] {
			if bytes.Equal(data, other) {
				t.Errorf("way %d is not new", i+1)
			}
		}
	}
	notes := len(said.Edits)
	for i, way := range said.Alternatives {
		if len(way.Edits) < notes {
			t.Errorf("way %d changes less than the one before", i+2)
		}
		notes = len(way.Edits)
	}
	if doc := readSheet(t, scoreOf(result, answer.Both)); doc.Counts.Parts != 8 {
		t.Errorf("%d parts, want two staves for the original and each way", doc.Counts.Parts)
	}
}

// What is not chosen stays, note for note.
func TestMendingChosenFindings(t *testing.T) {
	in := handIn(t)
	before := faultsOf(t, in.Data)
	for _, only := range [][]string{{"parallel-fifths"}, {"parallel-fifths@1"}, {"spacing@4", "parallel-octaves"}} {
		result, said := done[*report.Mending](t, in, &request.Mend{}, "only", strings.Join(only, ","))
		chosen := func(fault string) bool {
			return slices.ContainsFunc(only, func(name string) bool { return strings.HasPrefix(fault, name) })
		}
		after := faultsOf(t, scoreOf(result, answer.Mended))
		for _, fault := range before {
			if slices.Contains(after, fault) && chosen(fault) {
				t.Errorf("%v: %s is still there", only, fault)
			}
		}
		for _, fault := range after {
			if !slices.Contains(before, fault) {
				t.Errorf("%v: %s is new", only, fault)
			}
		}
		if said.Before != len(only) || said.After != 0 || len(said.Edits) > len(only)+1 {
			t.Errorf("%v: %d to go, %d left, %d edits", only, said.Before, said.After, len(said.Edits))
		}
	}
}

func TestMendingsThatCannotBe(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		// field is what a request or its plan finds wrong, "" for what the engine does.
		field string
	}{
		{"only", "wrong-notes", "only"},
		{"only", "parallel-fifths@3", ""},
		{"only", "parallel-fifths@99", ""},
		{"only", "voice-crossing", ""},
		{"alternatives", strconv.Itoa(request.MostMendings + 1), "alternatives"},
		{"alternatives", "-1", "alternatives"},
	} {
		if _, err := do(handIn(t), &request.Mend{}, tt.name, tt.text); !refused(err, tt.field) {
			t.Errorf("%s %s: %v", tt.name, tt.text, err)
		}
	}
}
