package musicxml

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"partwright/theory"
)

// corpus opens a folder of published scores that lies beside the project; it is
// not part of it, and the test is skipped where the folder is missing.
func corpus(t testing.TB, folder string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("reads published scores")
	}
	path := filepath.Join("..", "..", "shared", "data", folder)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("the measuring data %s is not here; the package's own scores cover the same ground", folder)
	}
	return path
}

// table reads a file of tab-separated values as one map a row.
func table(t testing.TB, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	c := csv.NewReader(f)
	c.Comma, c.LazyQuotes, c.FieldsPerRecord = '\t', true, -1
	rows, err := c.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 2 {
		t.Fatalf("%s has no rows", path)
	}
	out := make([]map[string]string, 0, len(rows)-1)
	for _, row := range rows[1:] {
		m := make(map[string]string, len(row))
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		out = append(out, m)
	}
	return out
}

func mustRead(t testing.TB, path string) *Document {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := Read(filepath.Base(path), data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// countColumns are the figures of a document under the names of the tables.
func countColumns(d *Document) map[string]string {
	c := d.Counts
	m := map[string]string{
		"parts": strconv.Itoa(c.Parts), "measures": strconv.Itoa(c.Measures), "notes": strconv.Itoa(c.Notes),
		"grace": strconv.Itoa(c.Grace), "voices": strconv.Itoa(c.Layers), "quarters": c.Quarters.String(),
		"high": "-", "low": "-", "first_part": d.Score.Parts[0].ID,
	}
	if c.Pitched {
		m["high"] = strconv.FormatFloat(c.High, 'f', -1, 64)
		m["low"] = strconv.FormatFloat(c.Low, 'f', -1, 64)
	}
	cue, unpitched := 0, 0
	layers := map[[2]int]bool{}
	for i := range d.Score.Notes {
		n := &d.Score.Notes[i]
		if n.Flags.Has(theory.Cue) {
			cue++
		}
		if n.Flags.Has(theory.Unpitched) {
			unpitched++
		}
		layers[[2]int{int(n.Part), int(n.Layer)}] = true
	}
	m["cue"], m["unpitched"], m["voices_rests"] = strconv.Itoa(cue), strconv.Itoa(unpitched), strconv.Itoa(len(layers))
	return m
}

func checkCounts(t *testing.T, row map[string]string, d *Document) {
	t.Helper()
	for column, got := range countColumns(d) {
		if want, ok := row[column]; ok && want != got {
			t.Errorf("%s = %s, want %s", column, got, want)
		}
	}
}

// The counts of the unofficial MusicXML test suite (Reinhold Kainhofer).
func TestCountsOfTheTestSuite(t *testing.T) {
	folder := corpus(t, "import-suite")
	for _, row := range table(t, filepath.Join(folder, "truth.tsv")) {
		t.Run(row["file"], func(t *testing.T) {
			checkCounts(t, row, mustRead(t, filepath.Join(folder, row["file"])))
		})
	}
}

func TestCountsOfOtherExporters(t *testing.T) {
	folder := corpus(t, "import-suite")
	for _, row := range table(t, filepath.Join(folder, "others.tsv")) {
		t.Run(row["file"], func(t *testing.T) {
			if row["parts"] == "-" {
				data, err := os.ReadFile(filepath.Join(folder, row["file"]))
				if err != nil {
					t.Fatal(err)
				}
				if _, err := Read(row["file"], data, Limits{}); err == nil {
					t.Error("read, and should be refused")
				}
				return
			}
			checkCounts(t, row, mustRead(t, filepath.Join(folder, row["file"])))
		})
	}
}

func TestCountsOfRealScores(t *testing.T) {
	folder := corpus(t, "bulk")
	for _, row := range table(t, filepath.Join(folder, "MANIFEST.tsv")) {
		t.Run(row["file"], func(t *testing.T) {
			checkCounts(t, row, mustRead(t, filepath.Join(folder, row["file"])))
		})
	}
}

// Every note of the closed-score chorales (Hentschel and Alberda, "A digital
// edition of the 389 Chorale Settings"): onset, duration, staff, voice, pitch.
func TestNotesOfTheChorales(t *testing.T) {
	folder := corpus(t, "chorales-closed")
	tables, err := filepath.Glob(filepath.Join(folder, "*.notes.tsv"))
	if err != nil || len(tables) == 0 {
		t.Fatalf("no note tables: %v", err)
	}
	for _, path := range tables {
		t.Run(filepath.Base(path), func(t *testing.T) {
			d := mustRead(t, strings.TrimSuffix(path, ".notes.tsv")+".mxl")
			want := map[string]int{}
			for _, row := range table(t, path) {
				grace := row["grace"] == "yes"
				want[noteKey(row["onset"], row["duration"], row["staff"], row["voice"], row["pitch"], grace)]++
			}
			for i := range d.Score.Notes {
				n := &d.Score.Notes[i]
				if n.Flags.Has(theory.Rest) {
					continue
				}
				at := d.Locate(theory.NoteID(i))
				staff := strconv.Itoa(int(n.Part) + at.Staff)
				key := noteKey(n.Onset.String(), n.Duration.String(), staff, at.Layer, n.Pitch.String(), n.Flags.Has(theory.Grace))
				if want[key]--; want[key] < 0 {
					t.Errorf("line %d: not in the table: %s", at.Line, key)
				}
			}
			for key, n := range want {
				if n > 0 {
					t.Errorf("%d not read: %s", n, key)
				}
			}
		})
	}
}

func noteKey(onset, duration, staff, voice, pitch string, grace bool) string {
	key := "onset " + onset + " duration " + duration + " staff " + staff + " voice " + voice + " " + pitch
	if grace {
		key += " grace"
	}
	return key
}
