package report

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

var update = flag.Bool("update", false, "rewrite the golden files under testdata")

func TestWriteVoicesGolden(t *testing.T) {
	tests := []struct {
		name, why string
		score     *theory.Score
	}{
		{
			name: "closed", why: "two voices a staff: a tie is one row, a shared unison two",
			score: theorytest.Score(
				"Upper/1/1: C5 B4*1/2 A4*1/2 | G4*2",
				"Upper/1/2: G4*2~ | G4 F4",
				"Lower/1/1: E4 D4 | D4 C4",
				"Lower/1/2: C4 G3 | B3 -"),
		},
		{
			name: "keyboard", why: "chords split by rank, each note with the layer it is written in",
			score: theorytest.Score(
				"Keys/1/1: E4+G4+C5 F4+A4+C5 | F4+G4+B4 E4+G4+C5",
				"Keys/2/5: C3 F3 | G3 C3"),
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got bytes.Buffer
			if err := writeVoices(&got, separation.FindVoices(tt.score)); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", "voices", tt.name+".csv")
			if *update {
				if err := os.WriteFile(path, got.Bytes(), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path) // #nosec G304 -- the test's own table
			if err != nil {
				t.Fatal(err)
			}
			if got.String() != string(want) {
				t.Errorf("%s\ngot\n%s\nwant\n%s", tt.why, got.String(), want)
			}
		})
	}
}

func TestWriteVoicesRunsNoFormula(t *testing.T) {
	score := theorytest.Score("One: C4")
	score.Measures[0].Label = "=1+1"
	var got bytes.Buffer
	if err := writeVoices(&got, separation.FindVoices(score)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(got.String(), ",'=1+1,") {
		t.Errorf("a measure labeled =1+1 came out as a formula:\n%s", got.String())
	}
	for label, want := range map[string]string{"12": "12", "-1": "-1", "X1": "X1", "": "", "@a": "'@a"} {
		if got := plainCell(label); got != want {
			t.Errorf("plainCell(%q) = %q, want %q", label, got, want)
		}
	}
}
