package worker

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"partwright/worker/report"
	"partwright/worker/request"
)

// expected is a finding that was worked out by hand; Why is the reasoning, with
// the source of the definition.
type expected struct {
	Measure, Beat, Voices, Rule, Why string
}

const (
	butterfield = "Butterfield, Integrated Music Theory, unit 10"
	hutchinson  = "Hutchinson, Music Theory for the 21st-Century Classroom, ch. 26"
	openTheory  = "Open Music Theory v1"
	collaros    = "Collaros, Partwriting conventions and definitions"
)

// class holds every finding of the demo class; testdata/README.md tells the
// same in words. What is not listed must not be found.
var class = map[string][]expected{
	"model": nil,
	"hand-in": {
		{"1", "4", "T B", "parallel-fifths", "G3–D4 to E3–B3, both down a third; " + butterfield},
		{"2", "2", "S B", "parallel-octaves", "C3–C5 to D3–D5, both up a second; " + butterfield},
		{"4", "1", "S B", "contrary-fifths", "a twelfth D3–A4 opens to G2–D5; " + butterfield},
		{"4", "1", "S A", "spacing", "B3–D5 is a tenth, wider than an octave; " + butterfield},
	},
	"keyboard": {
		{"2", "2", "S B", "parallel-octaves", "C3–C5 to D3–D5, the whole hand goes up with the bass; " + butterfield},
		{"2", "2", "A B", "parallel-fifths", "C3–G4 to D3–A4, a twelfth each time; " + butterfield},
		{"2", "2", "S A T B", "all-one-direction", "the hand and the bass both rise; Four-part writing, a course guide"},
	},
	"worksheet": {
		{"1", "2", "T B", "parallel-fifths", "F3–C4 to G3–D4; " + butterfield},
		{"2", "2", "S B", "parallel-octaves", "F3–F5 to C3–C5, both down a fourth; " + butterfield},
		{"3", "1", "S A", "unison", "two chords with soprano and alto on one note; Huron, Tone and Voice (2001)"},
		{"3", "2", "S A", "parallel-unisons", "F4 to G4 in both voices; " + hutchinson},
		{"4", "2", "T B", "contrary-fifths", "a twelfth F2–C4 closes to a fifth C3–G3; " + butterfield},
		{"5", "2", "S B", "contrary-octaves", "two octaves C3–C5 open to three F2–F5; " + butterfield},
		{"6", "2", "S B", "direct-octaves", "both rise into F3–F5, the soprano by leap; " + butterfield},
		{"7", "2", "S B", "direct-fifths", "both rise into G3–D5, the soprano by leap; " + butterfield},
		{"8", "2", "A T", "voice-crossing", "the tenor's C4 sounds above the alto's A3; " + butterfield},
		{"9", "2", "A T", "voice-overlap", "the tenor's D4 is above the C4 that the alto leaves; " + openTheory},
		{"9", "2", "S T", "direct-perfects-other-pairs", "a sixth A3–F4 rises into the fifth D4–A4, both by leap; Wieland, Part-writing tips"},
		{"9", "2", "A T", "restless-upper-voices", "C4–F4 and A3–D4, both leap a fourth; " + openTheory},
		{"10", "2", "S A", "spacing", "D4–F5 is a tenth; " + butterfield},
		{"11", "2", "S", "range", "A5 is above G5, the top of the soprano; " + butterfield},
		{"12", "2", "S", "augmented-second", "B flat 4 to C sharp 5; " + hutchinson},
		{"13", "2", "B", "leap-over-octave", "F2 to A3 is a tenth; " + collaros},
	},
}

// ofTwoChords are the families of rules that two chords are enough for: the
// examples of the worksheet are no phrases.
var ofTwoChords = map[string]bool{"consecutives": true, "placement": true, "line": true}

// TestDemoClass checks the demo scores from bytes to report: open score, closed
// score and keyboard notation.
func TestDemoClass(t *testing.T) {
	layouts := map[string]string{
		"model": "open score", "hand-in": "closed score", "keyboard": "keyboard", "worksheet": "open score",
	}
	for name, want := range class {
		t.Run(name, func(t *testing.T) {
			report := checkClass(t, name)
			if report.Score.Layout != layouts[name] {
				t.Errorf("the layout is %s, want %s", report.Score.Layout, layouts[name])
			}
			var got, expect []string
			for _, f := range report.Findings {
				if name == "worksheet" && !ofTwoChords[f.Family] {
					continue
				}
				got = append(got, fmt.Sprintf("m. %s beat %v %s %s", f.Measure, f.Beat, strings.Join(f.Voices, " "), f.Rule))
			}
			for _, e := range want {
				key := fmt.Sprintf("m. %s beat %s %s %s", e.Measure, e.Beat, e.Voices, e.Rule)
				expect = append(expect, key)
				if !slices.Contains(got, key) {
					t.Errorf("not found: %s (%s)", key, e.Why)
				}
			}
			for _, key := range got {
				if !slices.Contains(expect, key) {
					t.Errorf("found, but not there: %s", key)
				}
			}
			if len(got) != len(expect) {
				t.Errorf("%d findings, want %d", len(got), len(expect))
			}
		})
	}
}

func checkClass(t *testing.T, name string) *report.Report {
	t.Helper()
	file := filepath.Join("..", "testdata", "class", name+".musicxml")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, said := done[*report.Report](t, Input{Name: file, Data: data}, &request.Check{})
	return said
}
