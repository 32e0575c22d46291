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
// in its voice and staff, each in the color of its family; a note of two families
// has the severest color and the other on its head.
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
	number := func(f partwriting.Family, text string) string {
		return `<words font-style="normal" font-size="9" font-weight="bold" color="` + ColorOf(f) + `">` + text + `</words>`
	}
	want := number(partwriting.Spelling, "1?") + " " + number(partwriting.Line, " [2~]") + " " + number(partwriting.Placement, " [3+]") +
		` </direction-type> <voice>5</voice> <staff>2</staff> </direction>` +
		` <direction placement="below">` // the key, since the note opens the lowest staff
	if !strings.Contains(text, want) {
		t.Errorf("no %s in %s", want, text)
	}
	for _, want := range []string{
		fmt.Sprintf(`<note color=%q id="n9"> <chord/>`, ColorOf(partwriting.Placement)),
		fmt.Sprintf(`<note color=%q> <chord/>`, ColorOf(partwriting.Line)),
		fmt.Sprintf(`<note color=%q> <grace/>`, ColorOf(partwriting.Placement)),
		fmt.Sprintf(`<type>half</type><notehead color=%q>normal</notehead><staff>2</staff>`, ColorOf(partwriting.Spelling)),
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

// TestKeyFitsThePage: a key that is longer than the room on a page is shortened to the
// gravest items, which alone have numbers; a line says how many are missing.
func TestKeyFitsThePage(t *testing.T) {
	notes := make([]string, 40)
	for i := range notes {
		notes[i] = note4("C4")
	}
	d := mustParse(t, partwise("", `<measure number="1">`+fourQuarters+strings.Join(notes, "")+`</measure>`))
	var m Marks
	for i := range 90 {
		m.Items = append(m.Items, Mark{
			Number: i + 1, Family: partwriting.Line, Severity: partwriting.Severity(1 + i%3), Notes: []theory.NoteID{theory.NoteID(i % 40)},
			Sentence: "entry " + strings.Repeat("of many words ", 4),
		})
	}
	m.Legend.More = "{count} are left out"
	marked, err := d.Mark(m)
	if err != nil {
		t.Fatal(err)
	}
	text := string(marked)
	faults, cautions := strings.Count(text, ">["), strings.Count(text, ">(")
	entries := strings.Count(text, "entry of")
	if entries > (pageHeight-titleHeight)/lineHeight || entries < 10 || faults < 10 {
		t.Errorf("the key holds %d items, %d labels of faults and %d of cautions begin", entries, faults, cautions)
	}
	if want := fmt.Sprintf("[*] %d are left out", 90-entries); !strings.Contains(text, want) {
		t.Errorf("no %q", want)
	}
	if entries <= 30 && strings.Contains(text, "(2~)") {
		t.Errorf("a caution has a number while faults are left out: %d entries", entries)
	}
	if got := strings.Count(text, "<note color="); got != 40 {
		t.Errorf("%d notes have a color, not 40", got)
	}
	back, err := mustParse(t, marked).Clean()
	if err != nil || !bytes.Equal(back, d.data) {
		t.Errorf("cleaned it differs: %v", err)
	}
}
