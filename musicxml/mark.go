package musicxml

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"partwright/musicxml/markup"
	"partwright/theory"
	"partwright/theory/partwriting"
)

// Marks is what is written into a score, so that it reads like a marked paper in
// any notation program:
//
//   - Each item has a number, which stands above the first note concerned, or
//     above that note's chord: "[3=]" a fault, "(3=)" a caution, "3=" a remark.
//     The sign behind the number is the family's ([SignOf]).
//   - The notes concerned have the color of the family ([ColorOf]); a note of
//     several items that of the severest, the first of equals.
//   - The head of a note of two families has the color of the second, its stem and
//     all else that of the first.
//   - A key stands below the first system, where a line begins at the left of the page
//     whatever the layout: the heading, behind the badge "[*]", with the meaning of
//     the brackets; a sentence for each number, in the color of its family; the
//     meaning of each sign. Where it would be longer than the page, it is shortened
//     to the gravest items, and a line says how many are left out; those have no
//     number above their notes.
//
// Numbers and key are directions of words, put directly before a note and without
// offset: no other notation moves, no duration or position changes. A document
// stays valid for the version of MusicXML that it declares; one that declares
// 1.0, which has no color, gets numbers and key without.
//
// # How marks are known again
//
// A field "partwright-marks" in identification/miscellaneous says that the score
// is marked and keeps what cannot be seen: colors that notes had before, notes
// and directions of the author's own that look like marks, labels of the author's
// beside annotations, notes whose heads have a color of ours (all by part, measure and count, see the type place), elements that were made or opened for marks,
// the version declared before an upgrade. With it, [Document.Clean] gives back
// every byte, also old colors after another program wrote the score anew.
//
// Where such a program drops the field, marks are known by what they look like:
// words in a color of ours that have the form above, in a score with a heading;
// and notes in one of the eight colors, which are chosen so that nobody else
// has them. Old colors are lost then. Where it drops the colors, a whole key has to be
// there, with rising numbers and a line for every family; the numbers are then
// known by their text. Annotations without the record are known by their color, and
// without colors by the record; without both they are labels like any other.
// Whatever else is in a direction stays.
type Marks struct {
	// Heading introduces the key to the numbers, such as "Remarks". Without heading and
	// items there is no key.
	Heading string
	// Items in order of their numbers.
	Items []Mark
	// Left is how many more there are that have no marks; the key says so.
	Left int
	// Legend names families and severities in the language of the sentences;
	// its zero value is English.
	Legend Legend
	// Annotations are written as well; their zero value is none.
	Annotations Annotations
	// IDs gives every note and measure an id that has none, for programs that draw or
	// play the score; see [Document.IDs]. MusicXML knows ids from 3.1 on; a document
	// that declares an earlier version is valid by its schema with Upgrade only.
	IDs bool
	// Upgrade makes an older document declare MusicXML 4.0, so that it may have
	// all marks; cleaning takes that back too.
	Upgrade bool
}

// Mark is one numbered remark.
type Mark struct {
	// Number counts from 1.
	Number   int
	Family   partwriting.Family
	Severity partwriting.Severity
	// Notes are colored by the family; the number stands above the first.
	Notes []theory.NoteID
	// Sentence stands beside the number in the key.
	Sentence string
}

// Legend holds the words of the key, by the names of families ("chord-tones")
// and severities ("fault"). What is missing is in English.
type Legend struct {
	Families, Severities map[string]string
	// More says that there are {count} items more than the key has room for.
	More string
}

func (l *Legend) more(n int) string {
	form := l.More
	if form == "" {
		form = "{count} more in the report."
	}
	return strings.ReplaceAll(form, "{count}", strconv.Itoa(n))
}

func (l *Legend) family(f partwriting.Family) string {
	if word, ok := l.Families[f.String()]; ok {
		return word
	}
	return strings.ReplaceAll(f.String(), "-", " ")
}

func (l *Legend) severity(s partwriting.Severity) string {
	if word, ok := l.Severities[s.String()]; ok {
		return word
	}
	return s.String()
}

func (m *Mark) number() string { return strconv.Itoa(m.Number) }

// Mark returns the document with marks, in the container and encoding it came
// in. Outside the marks no byte of the score's text changes. Marks that were
// there before are replaced: marking twice gives what marking once gives.
func (d *Document) Mark(m Marks) ([]byte, error) {
	d = d.opened()
	t, places, err := d.unmarked()
	if err != nil {
		return nil, err
	}
	text, err := newMarker(t).mark(d, places, &m)
	if err != nil {
		return nil, err
	}
	return d.pack(text)
}

// Clean returns the document without marks: the text that [Document.Mark] was
// given, byte for byte, or, where another program wrote the marked score anew,
// that program's text without the marks. A document without marks comes back as
// it came in. In a container the score's entry is packed anew.
func (d *Document) Clean() ([]byte, error) {
	d = d.opened()
	edits := clean(d.tree)
	if len(edits) == 0 {
		return d.data, nil
	}
	return d.pack(edits.apply(d.tree.Text))
}

// unmarked returns the document without marks and the element of every note.
func (d *Document) unmarked() (*markup.Tree, []markup.ID, error) {
	edits := clean(d.tree)
	if len(edits) == 0 {
		return d.tree, d.places, nil
	}
	t, err := parseAgain(edits.apply(d.tree.Text), d.tree.Work)
	if err != nil {
		return nil, nil, fmt.Errorf("taking the old marks off: %w", err)
	}
	before, after := notesOf(d.tree), notesOf(t)
	if len(before) != len(after) {
		return nil, nil, fmt.Errorf("taking the old marks off left %d of %d notes", len(after), len(before))
	}
	places := make([]markup.ID, len(d.places))
	for i, id := range d.places {
		rank, _ := slices.BinarySearch(before, id)
		places[i] = after[rank]
	}
	return t, places, nil
}

// notesOf lists the <note> elements in document order.
func notesOf(t *markup.Tree) (notes []markup.ID) {
	for i := range t.Elements {
		t.Work.Step(1)
		if t.Elements[i].Name == markup.NameNote {
			notes = append(notes, markup.ID(i))
		}
	}
	return notes
}

// pack writes the score's text in the encoding and container it came in.
func (d *Document) pack(text []byte) ([]byte, error) {
	data, err := d.encoding.Encode(text)
	if err != nil || d.packed == nil {
		return data, err
	}
	return d.packed.Repack(data)
}
