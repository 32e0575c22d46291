package worker

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
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
	result, err := (&Engine{}).Mend(t.Context(), in, MendRequest{Alternatives: 3, Both: true})
	if err != nil {
		t.Fatal(err)
	}
	all := append([][]byte{result.Mended}, result.Others...)
	if len(all) != 3 || len(result.Report.Alternatives) != 2 {
		t.Fatalf("%d scores, %d further ways in the report", len(all), len(result.Report.Alternatives))
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
	notes, semitones := len(result.Report.Edits), result.Report.Semitones
	for i, way := range result.Report.Alternatives {
		if len(way.Edits) < notes || len(way.Edits) == notes && way.Semitones < semitones {
			t.Errorf("way %d changes less than the one before", i+2)
		}
		notes, semitones = len(way.Edits), way.Semitones
	}
	if doc := readSheet(t, result.Both); doc.Counts.Parts != 8 {
		t.Errorf("%d parts, want two staves for the original and each way", doc.Counts.Parts)
	}
}

// What is not chosen stays, note for note.
func TestMendingChosenFindings(t *testing.T) {
	in := handIn(t)
	before := faultsOf(t, in.Data)
	for _, only := range [][]string{{"parallel-fifths"}, {"parallel-fifths@1"}, {"spacing@4", "parallel-octaves"}} {
		result, err := (&Engine{}).Mend(t.Context(), in, MendRequest{Only: only})
		if err != nil {
			t.Fatal(err)
		}
		chosen := func(fault string) bool {
			return slices.ContainsFunc(only, func(name string) bool { return strings.HasPrefix(fault, name) })
		}
		after := faultsOf(t, result.Mended)
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
		if result.Report.Before != len(only) || result.Report.After != 0 || len(result.Report.Edits) > len(only) {
			t.Errorf("%v: %d to go, %d left, %d edits", only, result.Report.Before, result.Report.After, len(result.Report.Edits))
		}
	}
}

func TestMendingsThatCannotBe(t *testing.T) {
	for _, r := range []MendRequest{
		{Only: []string{"wrong-notes"}}, {Only: []string{"parallel-fifths@3"}}, {Only: []string{"parallel-fifths@99"}},
		{Only: []string{"voice-crossing"}}, {Alternatives: MaxMendings + 1}, {Alternatives: -1},
	} {
		var wrong *RequestError
		if _, err := (&Engine{}).Mend(t.Context(), handIn(t), r); !errors.As(err, &wrong) {
			t.Errorf("%+v: %v", r, err)
		}
	}
}
