package musicxml

import (
	"errors"
	"math"

	"partwright/musicxml/charset"
	"partwright/musicxml/container"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Document is one score: the bytes that came in, what was read from them, and
// where every note stands. It does not change once read and may be shared.
type Document struct {
	// Score is the music.
	Score *theory.Score
	// Notices tell what was odd, in document order.
	Notices []Notice
	// Counts are figures of the document as written.
	Counts Counts
	tree   *markup.Tree
	// data is what came in, packed its container (nil without), encoding how the
	// score's text was written.
	data     []byte
	packed   *container.Container
	encoding charset.Encoding
	// places holds the <note> element of every note, by NoteID. In a long document the
	// elements are let go once the music is read: starts then says where in the text
	// each of these begins, and [Document.opened] has them again.
	places []markup.ID
	starts []int32
	// divisions are the changes of divisions, in order of the notes.
	divisions []divisionsFrom
}

// Read reads a score from the bytes of a .musicxml, .xml or .mxl file. The name
// serves messages only. What cannot be read is an [*InputError].
//
// Notes stand in order of the parts, and within a part in document order, so
// that score-partwise and score-timewise give the same score.
func Read(name string, data []byte, limits Limits) (*Document, error) {
	d := &Document{}
	if err := d.open(name, data, limits); err != nil {
		return nil, err
	}
	if err := d.interpret(); err != nil {
		var input *InputError
		if errors.As(err, &input) {
			input.File = name
			if d.packed != nil {
				input.Entry = d.packed.Name
			}
		}
		return nil, err
	}
	if len(d.tree.Elements) > mostElements {
		d.close()
	}
	return d, nil
}

// mostElements is how many elements are kept beside the music: a check needs them no
// more, and they take more memory than its notes. Parsing them again takes a twentieth
// of the time of a check, where marks are asked for.
const mostElements = 1 << 18

// close lets the elements go.
func (d *Document) close() {
	d.starts = make([]int32, len(d.places))
	for i, id := range d.places {
		d.starts[i] = d.tree.Elements[id].Start
	}
	d.tree = d.tree.TextAlone()
}

// opened is the document with its elements.
func (d *Document) opened() *Document {
	if d.starts == nil {
		return d
	}
	own := *d
	own.starts = nil
	var err error
	if own.tree, err = parseAgain(d.tree.Text, d.tree.Work); err != nil {
		panic(err) // it was parsed before
	}
	return &own
}

// parseAgain parses a text that was within its limits.
func parseAgain(text []byte, work *theory.Work) (*markup.Tree, error) {
	return markup.Parse(text, markup.Limits{
		Bytes: math.MaxInt32, Depth: math.MaxInt32, Elements: math.MaxInt32,
		Attributes: math.MaxUint16, TotalAttributes: math.MaxInt32, Work: work,
	})
}

// interpret reads the music of a document. Where a duration turns out to be
// finer than the resolution it began with, it begins again with a finer one.
func (d *Document) interpret() error {
	for decimals := int64(1); ; {
		d.Score, d.Counts = &theory.Score{}, Counts{}
		r := reader{tree: d.tree, doc: d, decimals: decimals}
		err := r.read()
		var finer *finerError
		if !errors.As(err, &finer) {
			return err
		}
		decimals = finer.decimals
	}
}

// Under is the document for another job, which draws on a budget of its own. Jobs on
// one document run one after another.
func (d *Document) Under(w *theory.Work) *Document {
	d.tree.Work = w
	own, score := *d, *d.Score
	score.Work = w
	own.Score = &score
	return &own
}

// Locate returns where a note stands. It is safe for concurrent use.
func (d *Document) Locate(id theory.NoteID) Location {
	note := &d.Score.Notes[id]
	part := &d.Score.Parts[note.Part]
	at := d.tree.PositionOf(d.startOf(id))
	return Location{
		Part: part.ID, Staff: int(note.Staff), Layer: part.Layers[note.Layer],
		Line: at.Line, Column: at.Column,
	}
}

// startOf is where the element of a note begins in the text.
func (d *Document) startOf(id theory.NoteID) int32 {
	if d.starts != nil {
		return d.starts[id]
	}
	return d.tree.Elements[d.places[id]].Start
}
