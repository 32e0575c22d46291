package musicxml

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// longDocument is one part of so many quarter notes, each on a line of its own.
func longDocument(notes int) []byte {
	var b strings.Builder
	b.WriteString("<score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>S</part-name></score-part></part-list><part id=\"P1\">\n")
	for m := range notes / 4 {
		fmt.Fprintf(&b, "<measure number=\"%d\"><attributes><divisions>1</divisions></attributes>\n", m+1)
		for n := range 4 {
			fmt.Fprintf(&b, "  <note><pitch><step>%c</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice>%s</note>\n", "CDEFGAB"[(m+n)%7], sung(n))
		}
		b.WriteString("</measure>\n")
	}
	b.WriteString("</part></score-partwise>\n")
	return []byte(b.String())
}

// sung is a syllable for the first note of each measure.
func sung(n int) string {
	if n > 0 {
		return ""
	}
	return "<lyric><text>la</text></lyric>"
}

// A document whose elements were let go answers as one that has them.
func TestElementsComeBack(t *testing.T) {
	for name, data := range map[string][]byte{"plain": longDocument(40), "marked": marksOf(t, longDocument(40))} {
		kept, err := Read("long.musicxml", data, Limits{})
		if err != nil {
			t.Fatal(err)
		}
		closed, err := Read("long.musicxml", data, Limits{})
		if err != nil {
			t.Fatal(err)
		}
		closed.close()
		if len(closed.tree.Elements) != 0 {
			t.Fatal("the elements are still there")
		}
		for id := range kept.Score.Notes {
			if got, want := closed.Locate(theory.NoteID(id)), kept.Locate(theory.NoteID(id)); got != want {
				t.Errorf("%s: note %d is at %v, want %v", name, id, got, want)
			}
			if got, want := closed.IDs().Note(theory.NoteID(id)), kept.IDs().Note(theory.NoteID(id)); got != want {
				t.Errorf("%s: note %d has the id %q, want %q", name, id, got, want)
			}
		}
		marks := Marks{Items: []Mark{{Number: 1, Family: partwriting.Consecutives, Severity: partwriting.Fault, Notes: []theory.NoteID{7}, Sentence: "here"}}}
		for job, do := range map[string]func(d *Document) ([]byte, error){
			"marking":  func(d *Document) ([]byte, error) { return d.Mark(marks) },
			"cleaning": func(d *Document) ([]byte, error) { return d.Clean() },
			"repitched": func(d *Document) ([]byte, error) {
				return d.Repitch(map[theory.NoteID]theory.Pitch{9: {Step: theory.G, Octave: 5}})
			},
			"remarks":   func(d *Document) ([]byte, error) { return d.Remark([]Remark{{Measure: "2", Text: "there"}}) },
			"ids":       func(d *Document) ([]byte, error) { return d.Identify() },
			"syllables": func(d *Document) ([]byte, error) { return []byte(fmt.Sprint(d.Syllables(0))), nil },
		} {
			want, err := do(kept)
			if err != nil {
				t.Fatal(job, err)
			}
			if got, err := do(closed); err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s, %s: %v, %d bytes, want %d", name, job, err, len(got), len(want))
			}
		}
	}
}

func marksOf(t *testing.T, data []byte) []byte {
	t.Helper()
	d, err := Read("long.musicxml", data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	marked, err := d.Mark(Marks{Items: []Mark{{Number: 1, Notes: []theory.NoteID{3}, Sentence: "there"}}})
	if err != nil {
		t.Fatal(err)
	}
	return marked
}

// The elements of a long document are let go, those of a usual one are kept.
func TestLongDocumentLetsItsElementsGo(t *testing.T) {
	for notes, want := range map[int]bool{400: false, mostElements/6 + 400: true} {
		d, err := Read("long.musicxml", longDocument(notes), Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if got := len(d.tree.Elements) == 0; got != want {
			t.Errorf("of a score of %d notes the elements are let go: %v, want %v", notes, got, want)
		}
		last := len(d.Score.Notes) - 1
		if at := d.Locate(theory.NoteID(last)); at.Line != 1+notes/4*6-1 || at.Column != 3 {
			t.Errorf("the last of %d notes is at line %d, column %d", notes, at.Line, at.Column)
		}
	}
}
