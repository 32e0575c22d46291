package musicxml

import (
	"bytes"
	"strings"
	"testing"

	"github.com/beevik/etree"
)

// loss is what a notation program drops when it reads a score and writes it
// anew. All of them lay the text out anew.
type loss struct {
	name string
	// record: the record in identification/miscellaneous. colors: every color.
	record, colors bool
}

var losses = []loss{
	{name: "ids, comments and processing instructions"},
	{name: "the record too", record: true},
	{name: "colors too", colors: true},
	{name: "record and colors", record: true, colors: true},
}

// rewrite writes a score as such a program would.
func (l loss) rewrite(t testing.TB, data []byte) []byte {
	t.Helper()
	doc := etree.NewDocument()
	if err := doc.ReadFromBytes(data); err != nil {
		t.Fatal(err)
	}
	l.drop(&doc.Element)
	doc.IndentWithSettings(&etree.IndentSettings{Spaces: 4})
	out, err := doc.WriteToBytes()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func (l loss) drop(e *etree.Element) {
	for _, token := range append([]etree.Token(nil), e.Child...) {
		switch token := token.(type) {
		case *etree.Comment, *etree.ProcInst:
			e.RemoveChild(token)
		case *etree.Element:
			if l.record && token.Tag == "miscellaneous" {
				e.RemoveChild(token)
				continue
			}
			token.RemoveAttr("id")
			if l.colors {
				token.RemoveAttr("color")
			}
			l.drop(token)
		}
	}
	if len(e.ChildElements()) == 0 && (e.Tag == "identification" || e.Tag == "measure" || e.Tag == "part") {
		e.SetText("")
	}
}

// TestCleanAfterAnotherProgram: marks are known again, and old colors come back,
// after another program wrote the score anew.
func TestCleanAfterAnotherProgram(t *testing.T) {
	for _, tt := range markDocuments {
		if strings.HasPrefix(tt.name, "UTF-16") || tt.name == "Latin-1" || tt.name == "ASCII" {
			continue // programs write UTF-8
		}
		d := mustParse(t, tt.data)
		if len(d.Score.Notes) == 0 {
			continue
		}
		for _, l := range losses {
			t.Run(tt.name+"/"+l.name, func(t *testing.T) {
				m := sampleMarks(d, 0)
				if l.record && l.colors {
					m.Annotations = Annotations{} // nothing is left to know them by
				}
				marked, err := d.Mark(m)
				if err != nil {
					t.Fatal(err)
				}
				if l.hidesOwnMarks(tt.name) {
					t.Skip("what looks like a mark to the letter is taken for one once the record is lost")
				}
				cleaned, err := mustParse(t, l.rewrite(t, marked)).Clean()
				if err != nil {
					t.Fatal(err)
				}
				// With the record, old colors are lost too.
				compare := loss{record: l.record, colors: l.record || l.colors}
				got, want := compare.rewrite(t, cleaned), compare.rewrite(t, tt.data)
				if !bytes.Equal(dropEmpty(got), dropEmpty(want)) {
					t.Errorf("differs at %s", firstDifference(got, want))
				}
			})
		}
	}
}

func (l loss) hidesOwnMarks(document string) bool {
	return document == "own texts" && (l.record || l.colors) || document == "version 1.0" && l.record
}

// dropEmpty leaves out an identification that has lost all it had.
func dropEmpty(text []byte) []byte {
	text = bytes.ReplaceAll(text, []byte("<identification></identification>"), nil)
	text = bytes.ReplaceAll(text, []byte("<identification/>"), nil)
	return bytes.Join(bytes.Fields(text), []byte(" "))
}

// TestCleanLeavesTheTeacherAlone: what a teacher adds to a marked score stays.
func TestCleanLeavesTheTeacherAlone(t *testing.T) {
	d := mustParse(t, []byte(indented))
	marked, err := d.Mark(sampleMarks(d, 0))
	if err != nil {
		t.Fatal(err)
	}
	const added = `<direction><direction-type><words color="#C00000">see me, [1=] again</words></direction-type></direction>`
	last := bytes.LastIndex(marked, []byte("<note"))
	cleaned, err := mustParse(t, bytes.Join([][]byte{marked[:last], marked[last:]}, []byte(added))).Clean()
	if err != nil {
		t.Fatal(err)
	}
	if got := bytes.Replace(cleaned, []byte(added), nil, 1); !bytes.Equal(got, []byte(indented)) || bytes.Equal(got, cleaned) {
		t.Errorf("differs at %s", firstDifference(got, []byte(indented)))
	}
}

// TestCleanMergedDirection: a program that joins a number and a tempo word in one
// direction gets its tempo word back.
func TestCleanMergedDirection(t *testing.T) {
	const tempo = `<direction-type><words>slower</words></direction-type>`
	d := mustParse(t, partwise("", `<measure number="1">`+fourQuarters+note4("C4")+note4("D4")+`</measure>`))
	marked, err := d.Mark(sampleMarks(d, 0))
	if err != nil {
		t.Fatal(err)
	}
	merged := bytes.Replace(marked, []byte("<direction-type>"), []byte(tempo+"<direction-type>"), 1)
	cleaned, err := mustParse(t, merged).Clean()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(cleaned, []byte(`<direction placement="above">`+tempo+`</direction>`)) || bytes.Count(cleaned, []byte("<words")) != 1 {
		t.Errorf("got %s", cleaned)
	}
}
