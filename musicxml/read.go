package musicxml

import (
	"errors"

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
	// places holds the <note> element of every note, by NoteID.
	places []markup.ID
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
	return d, nil
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
	at := d.tree.PositionOf(d.tree.Elements[d.places[id]].Start)
	return Location{
		Part: part.ID, Staff: int(note.Staff), Layer: part.Layers[note.Layer],
		Line: at.Line, Column: at.Column,
	}
}
