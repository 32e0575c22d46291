package musicxml

import (
	"bytes"
	"fmt"
	"strconv"

	"github.com/beevik/etree"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// Repitch returns the document with other pitches for some of its notes, in the
// container and encoding it came in. Only the pitches of those notes change, and
// the accidentals of the measures they stand in: a later note of the measure gets
// the sign it now needs and loses the one that nothing calls for any more. Pitches
// sound; the written ones follow from how the note was transposed. Rests and
// unpitched notes cannot be given a pitch.
func (d *Document) Repitch(pitches map[theory.NoteID]theory.Pitch) ([]byte, error) {
	d = d.opened()
	var edits splice
	written := map[theory.NoteID]theory.Pitch{}
	for id := range d.Score.Notes {
		d.tree.Work.Step(1)
		to, ok := pitches[theory.NoteID(id)]
		if !ok {
			continue
		}
		note := &d.Score.Notes[id]
		element := d.tree.Child(d.places[id], markup.NamePitch)
		if element == markup.None || note.Flags.Any(theory.Rest|theory.Unpitched|theory.Microtone) {
			return nil, fmt.Errorf("%s, line %d: the note has no pitch that could be changed",
				d.Score.Parts[note.Part].ID, d.Locate(theory.NoteID(id)).Line)
		}
		now := to.Transpose(theory.Between(note.Pitch, note.Written))
		if now == note.Written {
			continue
		}
		written[theory.NoteID(id)] = now
		r := repitcher{tree: d.tree, edits: &edits}
		r.pitch(element, now)
	}
	if len(edits) == 0 {
		return d.data, nil
	}
	d.signMeasures(written, &repitcher{tree: d.tree, edits: &edits})
	return d.pack(edits.apply(d.tree.Text))
}

type repitcher struct {
	tree  *markup.Tree
	edits *splice
}

func (r *repitcher) content(id markup.ID, text string) {
	e := &r.tree.Elements[id]
	r.edits.replace(e.OpenEnd, e.CloseStart, []byte(text))
}

// pitch rewrites step, alter and octave where they stand.
func (r *repitcher) pitch(pitch markup.ID, p theory.Pitch) {
	step := r.tree.Child(pitch, markup.NameStep)
	r.content(step, p.Step.String())
	r.content(r.tree.Child(pitch, markup.NameOctave), strconv.Itoa(int(p.Octave)))
	alter := r.tree.Child(pitch, markup.NameAlter)
	switch {
	case alter == markup.None && p.Alter != 0:
		r.after(step, "alter", strconv.Itoa(int(p.Alter)))
	case alter != markup.None && p.Alter != 0:
		r.content(alter, strconv.Itoa(int(p.Alter)))
	case alter != markup.None:
		r.remove(alter)
	}
}

func (r *repitcher) lastOf(parent markup.ID, names ...markup.Name) markup.ID {
	last := markup.None
	for c := r.tree.Elements[parent].First; c != markup.None; c = r.tree.Elements[c].Next {
		for _, n := range names {
			if r.tree.Elements[c].Name == n {
				last = c
			}
		}
	}
	return last
}

// after adds an element behind another one, on a line of its own where that one
// has one.
func (r *repitcher) after(id markup.ID, name, text string) {
	e := etree.NewElement(name)
	e.SetText(text)
	doc := etree.NewDocumentWithRoot(e)
	piece, err := doc.WriteToBytes()
	if err != nil {
		return // a buffer in memory does not fail
	}
	r.edits.insert(r.tree.Elements[id].End, r.space(id), piece)
}

// remove takes an element away with the white space before it.
func (r *repitcher) remove(id markup.ID) {
	e := &r.tree.Elements[id]
	r.edits.remove(e.Start-int32(len(r.space(id))), e.End)
}

// space is the white space before an element.
func (r *repitcher) space(id markup.ID) []byte {
	before := r.tree.Text[:r.tree.Elements[id].Start]
	return before[len(bytes.TrimRight(before, " \t\r\n")):]
}
