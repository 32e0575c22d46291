package command

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"

	"partwright/worker/report"
)

var gridRows = [][]string{
	{"1", "12", "S A T B", "✗ fault\nparallel-fifths", "parallel fifths between tenor and bass, G3–D4 to E3–B3"},
	{"2", "12a", "S", "· remark\nspacing", "too far apart"},
}

// No line is wider than the page, and no word is lost or broken, however narrow it is.
func TestGridKeepsToItsWidth(t *testing.T) {
	words := func(s string) (n int) {
		for _, word := range strings.Fields(s) {
			if word != "│" && !strings.Contains(word, "─") {
				n++
			}
		}
		return n
	}
	want := words(fmt.Sprint(gridRows))
	for width := narrowest; width <= widestPage; width++ {
		header := []string{"#", "m.", "voices", "severity, rule", "what"}
		got := grid(width, header, gridRows)
		for line := range strings.SplitSeq(got, "\n") {
			if text.StringWidthWithoutEscSequences(line) > width || strings.HasSuffix(line, " ") {
				t.Fatalf("a page of %d columns has the line %q", width, line)
			}
		}
		if n := words(got); n != want && n != want+words(strings.Join(header, " ")) {
			t.Errorf("a page of %d columns has %d words of %d:\n%s", width, n, want, got)
		}
	}
}

func TestGridGivesWayWhereItIsWidest(t *testing.T) {
	const wide = "" +
		" a │ what\n" +
		"───┼────────────────────────────────────────────\n" +
		" 1 │ one two three four five six seven eight\n" +
		"   │ nine ten eleven\n" +
		" 2 │ one"
	rows := [][]string{{"1", "one two three four five six seven eight nine ten eleven"}, {"2", "one"}}
	if got := grid(48, []string{"a", "what"}, rows); got != wide {
		t.Errorf("got\n%s\nwant\n%s", got, wide)
	}
	// Where no word can be broken any more, each row has a heading.
	const narrow = "" +
		"seventh-unresolved │ a-word-that-is-long\n" +
		"    The seventh steps down."
	rows = [][]string{{"seventh-unresolved", "a-word-that-is-long", "The seventh steps down."}}
	if got := grid(40, []string{"rule", "more", "what"}, rows); got != narrow {
		t.Errorf("got\n%s\nwant\n%s", got, narrow)
	}
}

// POSIX.1-2017, Base Definitions, 8.3: COLUMNS is the preferred width of the terminal.
func TestWidthOf(t *testing.T) {
	for _, tt := range []struct {
		columns string
		want    int
	}{
		{"", pageWidth}, {"80", 80}, {"72", 72}, {"20", narrowest}, {"1000", widestPage}, {"0", pageWidth}, {"wide", pageWidth},
	} {
		t.Setenv("COLUMNS", tt.columns)
		if got := widthOf(&bytes.Buffer{}); got != tt.want {
			t.Errorf("COLUMNS=%s: %d columns, want %d", tt.columns, got, tt.want)
		}
	}
}

// A progression that is too long for the page goes on in another system, which names
// the key again.
func TestVoicingsStandInSystems(t *testing.T) {
	chords := make([]report.VoicedChord, 30)
	for i := range chords {
		chords[i] = report.VoicedChord{Key: "Bb", Numeral: "V", Pitches: []string{"A4", "F4", "C4", "F3"}}
	}
	r := &report.Voicing{
		Voices:       []string{"S", "A", "T", "B"},
		Alternatives: []report.Alternative{{Faults: 1, Cautions: 2, Chords: chords}},
	}
	for _, width := range []int{40, 60, 80, 160} {
		got := voicingTable(r, width)
		for line := range strings.SplitSeq(got, "\n") {
			if text.StringWidthWithoutEscSequences(line) > width {
				t.Errorf("a page of %d columns has the line %q", width, line)
			}
		}
		if n := strings.Count(got, "A4"); n != len(chords) {
			t.Errorf("a page of %d columns has %d chords of %d", width, n, len(chords))
		}
		if systems := strings.Count(got, "┌"); strings.Count(got, "Bb: V") != systems || systems < 2 && width <= 80 {
			t.Errorf("a page of %d columns has %d systems, and names the key %d times", width, systems, strings.Count(got, "Bb: V"))
		}
	}
	if !strings.Contains(voicingTable(r, 80), "1 fault, 2 cautions") {
		t.Error("one fault is not counted as one")
	}
}
