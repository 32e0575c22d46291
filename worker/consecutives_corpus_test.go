package worker

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
)

// measuringData opens a folder of published scores that lies beside the project;
// it is not part of it, and the test is skipped where the folder is missing.
func measuringData(t testing.TB, folder string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("reads published scores")
	}
	path := filepath.Join("..", "..", "shared", "data", folder)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("the measuring data %s is not here; the rules' own tests cover the same ground", folder)
	}
	return path
}

func voicesOf(t testing.TB, path string) *theory.Texture {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := musicxml.Read(filepath.Base(path), data, musicxml.Limits{})
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return separation.FindVoices(d.Score)
}

var consecutiveKinds = map[partwriting.RuleID]bool{
	"parallel-fifths": true, "parallel-octaves": true, "parallel-unisons": true,
	"contrary-fifths": true, "contrary-octaves": true,
}

// The consecutive perfect intervals of J. S. Bach's chorales, attack by attack,
// counted independently from the edition in Humdrum's **kern by Craig Stuart Sapp
// (2009): every one is found, and no other.
func TestConsecutivesOfTheChorales(t *testing.T) {
	truth := measuringData(t, "truth")
	folder := measuringData(t, "chorales-open")
	want := map[string]bool{}
	for _, row := range csvRows(t, filepath.Join(truth, "consecutives-odd.csv")) {
		pair := strings.ReplaceAll(row["pair"], "-", "")
		key := fmt.Sprintf("%s %s %s %s", row["chorale"], row["kind"], pair, row["onset"])
		want[key] = true
	}
	got := map[string]bool{}
	scores, _ := filepath.Glob(filepath.Join(folder, "*.mxl"))
	if len(scores) == 0 || len(want) == 0 {
		t.Fatal("no scores, or no rows to compare with")
	}
	for _, path := range scores {
		texture := voicesOf(t, path)
		for _, f := range partwriting.Check(texture, nil, nil) {
			if consecutiveKinds[f.Rule] {
				name := strings.TrimSuffix(filepath.Base(path), ".mxl")
				got[fmt.Sprintf("%s %s %s %s", name, f.Rule, voiceLetters(texture, &f), f.Onset)] = true
			}
		}
	}
	for _, key := range difference(want, got) {
		t.Errorf("not found: %s", key)
	}
	for _, key := range difference(got, want) {
		t.Errorf("found beyond: %s", key)
	}
	t.Logf("%d scores, %d rows, %d found", len(scores), len(want), len(got))
}

func voiceLetters(texture *theory.Texture, f *partwriting.Finding) string {
	letters := ""
	for _, v := range f.Voices {
		letters += texture.Voices[v].Name
	}
	return letters
}

func difference(a, b map[string]bool) []string {
	var only []string
	for key := range a {
		if !b[key] {
			only = append(only, key)
		}
	}
	sort.Strings(only)
	return only
}

func csvRows(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		named := map[string]string{}
		for i, cell := range row {
			named[rows[0][i]] = cell
		}
		out = append(out, named)
	}
	return out
}
