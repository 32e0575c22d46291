package musicxml

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

var updateMarked = flag.Bool("update", false, "write the golden files of marked scores anew")

// TestMarkedGolden compares whole marked scores, which are to be looked at when
// they change: the diff against the document beside them shows every mark.
func TestMarkedGolden(t *testing.T) {
	english := Marks{Heading: "Key to the numbers", Items: []Mark{
		{1, partwriting.Consecutives, partwriting.Fault, []theory.NoteID{0, 2, 4}, "measure 1, beat 2: parallel fifths between soprano and bass, C3–A4 to F3–B♭4"},
		{2, partwriting.Placement, partwriting.Caution, []theory.NoteID{2, 3}, "measure 1, beat 2: alto crosses above soprano"},
		{3, partwriting.Tendency, partwriting.Remark, []theory.NoteID{2}, "measure 1, beat 2: seventh not resolved"},
		{4, partwriting.ChordTones, partwriting.Fault, []theory.NoteID{6}, "measure 1, beat 1: third doubled"},
	}}
	german := Marks{
		Heading: "Nichts als dies", Items: []Mark{{1, partwriting.Line, partwriting.Caution, []theory.NoteID{0, 1}, "Takt 1: große Septime"}},
		Legend: Legend{Families: map[string]string{"line": "Stimmführung"}, Severities: map[string]string{"caution": "Vorsicht"}},
	}
	current := quarters(note4("G3"), note4("F3"), note4("E3"), note4("D3"))
	for _, tt := range []struct {
		name, document string
		marks          Marks
	}{
		{"two-staves", indented, english},
		{"timewise", timewise, german},
		{"nothing-found", timewise, Marks{Heading: "Nothing was found."}},
		{"annotated-3.1", indented, Marks{Heading: "Nothing was found.", Annotations: sampleAnnotations(mustParse(t, []byte(indented)), 0)}},
		{"annotated-timewise", timewise, Marks{Heading: "Nothing was found.", Annotations: sampleAnnotations(mustParse(t, []byte(timewise)), 0)}},
		{"annotated-4.0", current, Marks{Heading: "Nothing was found.", Annotations: sampleAnnotations(mustParse(t, []byte(current)), 0)}},
		{"version-1.0", string(documentNamed(t, "version 1.0")), german},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := mustParse(t, []byte(tt.document)).Mark(tt.marks)
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", "marks", tt.name+".musicxml")
			if *updateMarked {
				if err := os.WriteFile(path, got, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatalf("%v; -update writes it", err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("differs at %s", firstDifference(got, want))
			}
		})
	}
}

func documentNamed(t testing.TB, name string) []byte {
	t.Helper()
	for _, d := range markDocuments {
		if d.name == name {
			return d.data
		}
	}
	t.Fatalf("no document %q", name)
	return nil
}

// TestMarkPlacesNumbers: the number stands before the first note of the chord,
// in its voice and staff, and its color is that of the severest item.
func TestMarkPlacesNumbers(t *testing.T) {
	d := mustParse(t, []byte(indented))
	marked, err := d.Mark(Marks{Heading: "x", Items: []Mark{
		{1, partwriting.Spelling, partwriting.Remark, []theory.NoteID{6}, "a"},
		{2, partwriting.Line, partwriting.Fault, []theory.NoteID{5}, "b"},
		{3, partwriting.Placement, partwriting.Fault, []theory.NoteID{6, 1}, "c"},
	}})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(string(marked)), " ")
	want := `color="` + ColorOf(partwriting.Line) + `">1? [2~] [3+]</words> </direction-type> <voice>5</voice> <staff>2</staff> </direction>` +
		` <note> <pitch><step>C</step><octave>3</octave>`
	if !strings.Contains(text, want) {
		t.Errorf("no %s in %s", want, text)
	}
	for _, want := range []string{
		fmt.Sprintf(`<note color=%q id="n9"> <chord/>`, ColorOf(partwriting.Placement)),
		fmt.Sprintf(`<note color=%q> <chord/>`, ColorOf(partwriting.Line)),
		fmt.Sprintf(`<note color=%q> <grace/>`, ColorOf(partwriting.Placement)),
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s", want)
		}
	}
}

// TestMarkOldVersions: MusicXML 1.0 has no color, and no version before 3.1 an id
// on a direction (W3C, MusicXML 4.0, version history of 1.1 and 3.1).
func TestMarkOldVersions(t *testing.T) {
	for _, tt := range markDocuments {
		marked, err := mustParse(t, tt.data).Mark(sampleMarks(mustParse(t, tt.data), 0))
		if err != nil {
			t.Fatal(err)
		}
		old := mustParse(t, tt.data)
		added := bytes.Count(mustParse(t, marked).tree.Text, []byte("color=")) - bytes.Count(old.tree.Text, []byte("color="))
		if plain := tt.name == "version 1.0"; old.Counts.Measures > 0 && plain != (added == 0) {
			t.Errorf("%s: %d colors more", tt.name, added)
		}
		if bytes.Count(marked, []byte(" id=")) != bytes.Count(tt.data, []byte(" id=")) {
			t.Errorf("%s: ids were added", tt.name)
		}
	}
}

func TestWrap(t *testing.T) {
	tests := []struct {
		text  string
		width int
		want  string
	}{
		{"", 5, ""},
		{"one", 2, "one"},
		{"  a \t b\nc ", 80, "a b c"},
		{"ab cd ef", 5, "ab cd\nef"},
		{"ab cdefghi j", 5, "ab\ncdefghi\nj"},
		{"♯♯ ♭♭", 5, "♯♯ ♭♭"},
	}
	for _, tt := range tests {
		if got := wrap(tt.text, tt.width); got != tt.want {
			t.Errorf("%q at %d: %q, want %q", tt.text, tt.width, got, tt.want)
		}
	}
}

func TestParseLabel(t *testing.T) {
	for _, good := range []string{"[1=]", "(23~)", "4*", "1234567?"} {
		if _, ok := parseLabel([]byte(good)); !ok {
			t.Errorf("%q is a label", good)
		}
	}
	for _, bad := range []string{"", "[", "[]", "[1]", "(1=]", "[1=", "=", "1", "1==", "A=", "12345678=", "1.", "[-1=]"} {
		if l, ok := parseLabel([]byte(bad)); ok {
			t.Errorf("%q is no label, got %v", bad, l)
		}
	}
}
