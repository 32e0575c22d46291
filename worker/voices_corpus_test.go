package worker

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/separation"
	"partwright/worker/report"
)

// Published editions of four-part chorales lie beside the project for measuring;
// they are no part of it. The closed ones come with tables of their notes by
// staff and voice: J. Hentschel, G. Alberda, "A digital edition of the 389
// Chorale Settings". The open ones are converted from C. S. Sapp's edition of
// the 370 chorales.

func corpusFiles(t *testing.T, folder, pattern string) []string {
	t.Helper()
	if testing.Short() {
		t.Skip("reads published scores")
	}
	dir := filepath.Join("..", "..", "shared", "data", folder)
	if _, err := os.Stat(dir); err != nil {
		t.Skipf("the measuring data %s is not here; theory's own scores cover the same ground", folder)
	}
	files, err := filepath.Glob(filepath.Join(dir, pattern))
	if err != nil || len(files) == 0 {
		t.Fatalf("no %s in %s: %v", pattern, dir, err)
	}
	return files
}

func readTexture(t *testing.T, path string) *theory.Texture {
	t.Helper()
	data, err := os.ReadFile(path) // #nosec G304 -- a file of the measuring data
	if err != nil {
		t.Fatal(err)
	}
	d, err := musicxml.Read(filepath.Base(path), data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return separation.FindVoices(d.Score)
}

// rowsOf reads a table with a header into one map a row.
func rowsOf(t *testing.T, data []byte, comma rune) []map[string]string {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = comma
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([]map[string]string, 0, len(all))
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, name := range all[0] {
			m[name] = row[i]
		}
		rows = append(rows, m)
	}
	return rows
}

// sung is a note of a table with its ties joined.
type sung struct{ voice, onset, duration, pitch string }

func TestVoicesAgreeWithPublishedTables(t *testing.T) {
	files := corpusFiles(t, "chorales-closed", "*.mxl")
	notes, placed := 0, 0
	for _, path := range files {
		texture := readTexture(t, path)
		table, err := report.VoicesCSV(texture)
		if err != nil {
			t.Fatal(err)
		}
		published, err := os.ReadFile(strings.TrimSuffix(path, ".mxl") + ".notes.tsv")
		if err != nil {
			t.Fatal(err)
		}
		names := publishedNames(texture)
		found := map[sung]int{}
		for _, row := range rowsOf(t, table, ',') {
			found[sung{row["voice"], row["onset"], row["duration"], row["pitch"]}]++
		}
		for _, want := range joinPublished(t, rowsOf(t, published, '\t'), names) {
			notes++
			if found[want] > 0 {
				found[want]--
				placed++
				continue
			}
			if !soundsAnywhere(t, texture, want) {
				t.Errorf("%s: %s at %s is in no voice", filepath.Base(path), want.pitch, want.onset)
			}
			t.Logf("%s: %s at %s lasting %s is not found in %s", filepath.Base(path), want.pitch, want.onset, want.duration, want.voice)
		}
	}
	share := float64(placed) / float64(notes)
	t.Logf("%d chorales: %d of %d notes in the published voice (%.3f %%)", len(files), placed, notes, 100*share)
	if share < 0.995 {
		t.Errorf("%.2f %% of the notes are in the right voice, want 99.5", 100*share)
	}
}

// soundsAnywhere reports whether some voice sounds the pitch at the onset. Where
// the edition draws a tie in the wrong layer, it does so as part of a longer note.
func soundsAnywhere(t *testing.T, texture *theory.Texture, want sung) bool {
	onset := fractionOf(t, want.onset)
	for i := range texture.Voices {
		for k := range texture.Voices[i].Notes {
			n := &texture.Voices[i].Notes[k]
			if n.Pitch.String() == want.pitch && !onset.Less(n.Onset) && onset.Less(n.End()) {
				return true
			}
		}
	}
	return false
}

// publishedNames returns the voice name of each staff and voice of a published
// table: from the top, as many as there are.
func publishedNames(texture *theory.Texture) []string {
	var names []string
	for i := range texture.Voices {
		if v := &texture.Voices[i]; !v.Extra {
			names = append(names, v.Name)
		}
	}
	return names
}

// joinPublished joins the ties of a published table and names its voices from
// the top. A layer beyond those that became voices counts as the extra one.
func joinPublished(t *testing.T, rows []map[string]string, names []string) []sung {
	t.Helper()
	counts := map[string]int{}
	for _, row := range rows {
		counts[row["staff"]+"."+row["voice"]]++
	}
	keys := make([]string, 0, len(counts))
	for k := range counts {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	named, next := map[string]string{}, 0
	for _, k := range keys {
		if next == len(names) || (len(keys) > len(names) && counts[k] < 10) {
			named[k] = "V" + strconv.Itoa(len(names)+1)
			continue
		}
		named[k] = names[next]
		next++
	}
	var out []sung
	open := map[string]int{} // a tied note that goes on, by layer and pitch
	for _, row := range rows {
		if row["grace"] == "yes" {
			continue
		}
		layer := row["staff"] + "." + row["voice"]
		key := layer + row["pitch"]
		tied := row["tied"]
		if at, ok := open[key]; ok && (tied == "stop" || tied == "both") {
			a, b := fractionOf(t, out[at].duration), fractionOf(t, row["duration"])
			out[at].duration = a.Add(b).String()
			if tied == "stop" {
				delete(open, key)
			}
			continue
		}
		if tied == "start" || tied == "both" {
			open[key] = len(out)
		}
		out = append(out, sung{named[layer], row["onset"], row["duration"], row["pitch"]})
	}
	return out
}

func fractionOf(t *testing.T, text string) theory.Fraction {
	t.Helper()
	f, err := theory.ParseFraction(text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestOpenChoralesAreFourParts(t *testing.T) {
	for _, path := range corpusFiles(t, "chorales-open", "*.mxl") {
		texture := readTexture(t, path)
		if texture.Layout != theory.OpenScore || len(texture.Voices) != 4 {
			t.Errorf("%s: %v with %d voices", filepath.Base(path), texture.Layout, len(texture.Voices))
			continue
		}
		for i, v := range texture.Voices {
			if want := "SATB"[i : i+1]; v.Name != want || v.Part != i {
				t.Errorf("%s: voice %d is %s of part %d", filepath.Base(path), i, v.Name, v.Part)
			}
		}
	}
}

func TestNoNoteOfPublishedScoresIsLost(t *testing.T) {
	for _, folder := range []string{"bulk", "import-suite", "textbooks"} {
		files, readable := corpusFiles(t, folder, "*.?[mx]l"), 0
		for _, path := range files {
			data, err := os.ReadFile(path) // #nosec G304 -- a file of the measuring data
			if err != nil {
				t.Fatal(err)
			}
			d, err := musicxml.Read(filepath.Base(path), data, musicxml.Limits{})
			if err != nil {
				continue // some are there to be refused
			}
			readable++
			if lost, thrice := unplaced(separation.FindVoices(d.Score)); lost > 0 || thrice > 0 {
				t.Errorf("%s: %d notes in no voice, %d in more than two", filepath.Base(path), lost, thrice)
			}
		}
		if 10*readable < 9*len(files) {
			t.Errorf("only %d of %d scores in %s were read", readable, len(files), folder)
		}
	}
}

// unplaced counts notes that sound and are in no voice, or in more than the two
// that may share one.
func unplaced(texture *theory.Texture) (lost, thrice int) {
	times := make([]int, len(texture.Score.Notes))
	for v := range texture.Voices {
		for i := range texture.Voices[v].Notes {
			for _, id := range texture.Voices[v].Notes[i].IDs {
				times[id]++
			}
		}
	}
	for i := range texture.Score.Notes {
		n := &texture.Score.Notes[i]
		if !n.Sounds() || n.Duration.Sign() == 0 || texture.Score.Parts[n.Part].Kind != theory.PitchedPart {
			continue
		}
		switch {
		case times[i] == 0:
			lost++
		case times[i] > 2:
			thrice++
		}
	}
	return lost, thrice
}
