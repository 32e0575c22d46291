package musicxml

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every single document of the hostile collection behaves as its table says;
// archives of several scores are the business of those who unpack them.
func TestHostileDocuments(t *testing.T) {
	folder := corpus(t, "hostile")
	canary, err := os.ReadFile(filepath.Join(folder, "canary.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range table(t, filepath.Join(folder, "EXPECT.tsv")) {
		if row["expect"] == "batch" || row["source"] == "generate" {
			continue
		}
		t.Run(row["file"], func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(folder, row["file"]))
			if err != nil {
				t.Fatal(err)
			}
			d, err := Read(row["file"], data, Limits{})
			var input *InputError
			if err != nil && !errors.As(err, &input) {
				t.Fatalf("not an input error: %v", err)
			}
			if err != nil && (input.File != row["file"] || input.Problem == "" || input.Advice == "" || strings.Contains(err.Error(), string(canary))) {
				t.Errorf("%+v", input)
			}
			switch row["expect"] {
			case "refuse":
				if err == nil {
					t.Errorf("read: %s", row["what"])
				}
			case "accept":
				if err != nil {
					t.Fatalf("%s: %v", row["what"], err)
				}
				if len(d.Notices) > 0 {
					t.Errorf("complains about a good score: %+v", d.Notices)
				}
				checkGood(t, d)
			case "either":
				if err == nil {
					checkGood(t, d)
				}
			case "flag":
				if err == nil && len(d.Notices) == 0 {
					t.Errorf("silent: %s", row["what"])
				}
			default:
				t.Fatalf("unknown expectation %q", row["expect"])
			}
		})
	}
}

// checkGood compares with what every good score of the collection holds.
func checkGood(t *testing.T, d *Document) {
	t.Helper()
	want := map[string]string{"parts": "4", "measures": "2", "notes": "32", "quarters": "8"}
	got := countColumns(d)
	for column, value := range want {
		if got[column] != value {
			t.Errorf("%s = %s, want %s", column, got[column], value)
		}
	}
	for i := range d.Score.Parts {
		if strings.Contains(d.Score.Parts[i].Name, "root:") {
			t.Errorf("part name %q comes from another file", d.Score.Parts[i].Name)
		}
	}
}

// The collection writes its title in several encodings.
func TestTitlesInEveryEncoding(t *testing.T) {
	folder := corpus(t, "hostile")
	for file, want := range map[string]string{
		"le-bom.musicxml": "Étude d’été Ñ", "be-bom.musicxml": "Étude d’été Ñ", "eight-bom.musicxml": "Étude d’été Ñ",
		"iso1.musicxml": "Étude Ñ ß", "koi8.musicxml": "Песня",
	} {
		if got := mustRead(t, filepath.Join(folder, file)).Score.Title; got != want {
			t.Errorf("%s: title %q, want %q", file, got, want)
		}
	}
}

// The same music in time order is the same score.
func TestTimewiseOfTheCollection(t *testing.T) {
	folder := corpus(t, "hostile")
	a := mustRead(t, filepath.Join(folder, "time-order.musicxml"))
	b := mustRead(t, filepath.Join(folder, "good-stored.mxl"))
	if sketch(a.Score) != sketch(b.Score) {
		t.Errorf("timewise %s\npartwise %s", sketch(a.Score), sketch(b.Score))
	}
}
