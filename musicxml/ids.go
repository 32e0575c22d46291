package musicxml

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// idPrefix begins the ids that we give, with a number behind the letters where ids
// of the document begin like that.
const idPrefix = "pw"

var isIDPrefix = regexp.MustCompile(`^` + idPrefix + `\d*-$`)

// IDs are the ids of the notes of a document, and of the measures they stand in:
// those that the author gave, else those that [Marks.IDs] writes. They name part,
// measure and note by count from 1 ("pw-n1-12-3", "pw-m1-12"), so the same document
// always has the same ones, also once some of its notes have other pitches.
type IDs struct {
	notes, measures []string
	known           map[string]theory.NoteID
}

// IDs returns the ids of the document.
func (d *Document) IDs() *IDs {
	d = d.opened()
	ids := newIdentifier(d.tree)
	of := make(map[markup.ID][2]string, len(d.places))
	ids.each(func(note, holder markup.ID, own string) {
		of[note] = [2]string{own, ids.measures[holder]}
	})
	out := &IDs{
		notes: make([]string, len(d.places)), measures: make([]string, len(d.places)),
		known: make(map[string]theory.NoteID, len(d.places)),
	}
	for i, element := range d.places {
		name := of[element]
		out.notes[i], out.measures[i] = name[0], name[1]
		if _, twice := out.known[name[0]]; !twice {
			out.known[name[0]] = theory.NoteID(i)
		}
	}
	return out
}

// Note is the id of a note, Measure that of the measure in which it is written.
func (i *IDs) Note(id theory.NoteID) string { return i.notes[id] }

// Measure is the id of the measure in which a note is written.
func (i *IDs) Measure(id theory.NoteID) string { return i.measures[id] }

// Find returns the note of an id; of several, which no valid document has, the first.
func (i *IDs) Find(id string) (theory.NoteID, bool) {
	note, ok := i.known[id]
	return note, ok
}

// Identify returns the document without marks and with an id on every note and
// measure. Cleaning takes those off again that were not there before.
func (d *Document) Identify() ([]byte, error) { return d.Mark(Marks{IDs: true}) }

// identifier says which id each note and measure of a document has.
type identifier struct {
	t *markup.Tree
	// given is the prefix of ids that are there and are ours, "" for none; prefix is
	// that of those that are missing.
	given, prefix string
	// measures are the ids by the element that holds the notes.
	measures map[markup.ID]string
}

func newIdentifier(t *markup.Tree) *identifier {
	ids := &identifier{t: t, measures: map[markup.ID]string{}}
	if field := recordField(t); field != markup.None {
		ids.given = parseRecord(string(t.Content(field))).ids
	}
	ids.prefix = ids.free()
	eachMeasure(t, func(at place, holder markup.ID) {
		element := measureElement(t, holder)
		if own, ok := ids.own(element); ok {
			ids.measures[holder] = own
			return
		}
		ids.measures[holder] = ids.measureName(at, element != holder)
	})
	return ids
}

// free is the first prefix that begins none of the author's ids.
func (ids *identifier) free() string {
	taken := map[string]bool{}
	for i := range ids.t.Elements {
		ids.t.Work.Step(1)
		for _, a := range ids.t.AttributesOf(markup.ID(i)) {
			if a.Name != markup.NameId {
				continue
			}
			value := ids.t.Value(a)
			if dash := bytes.IndexByte(value, '-'); dash > 0 && bytes.HasPrefix(value, []byte(idPrefix)) {
				taken[string(value[:dash+1])] = true
			}
		}
	}
	prefix := idPrefix + "-"
	for n := 2; taken[prefix] && prefix != ids.given; n++ {
		prefix = idPrefix + strconv.Itoa(n) + "-"
	}
	return prefix
}

// own is the id that the author gave an element.
func (ids *identifier) own(element markup.ID) (string, bool) {
	value, ok := ids.t.Attr(element, markup.NameId)
	if !ok || ids.given != "" && bytes.HasPrefix(value, []byte(ids.given)) {
		return "", false
	}
	return string(value), true
}

// each calls visit for every note with the element that holds its measure.
func (ids *identifier) each(visit func(note, holder markup.ID, id string)) {
	eachMeasure(ids.t, func(at place, holder markup.ID) {
		for note := range named(ids.t, holder, markup.NameNote) {
			at.index++
			id, ok := ids.own(note)
			if !ok {
				id = fmt.Sprintf("%sn%d-%d-%d", ids.prefix, at.part, at.measure, at.index)
			}
			visit(note, holder, id)
		}
	})
}

// measureName is the id of a measure; in a timewise document all parts share it.
func (ids *identifier) measureName(at place, timewise bool) string {
	if timewise {
		return fmt.Sprintf("%sm%d", ids.prefix, at.measure)
	}
	return fmt.Sprintf("%sm%d-%d", ids.prefix, at.part, at.measure)
}

// measureElement is the <measure> of what holds its notes.
func measureElement(t *markup.Tree, holder markup.ID) markup.ID {
	if t.Elements[holder].Name == markup.NameMeasure {
		return holder
	}
	return t.Elements[holder].Parent
}

// identify writes the ids that are missing.
func (mk *marker) identify() {
	ids := newIdentifier(mk.t)
	mk.record.ids = ids.prefix
	done := map[markup.ID]bool{}
	write := func(element markup.ID, id string) {
		if _, there := mk.t.Attr(element, markup.NameId); there || done[element] {
			return
		}
		done[element] = true
		at := mk.t.Elements[element].Start + int32(len("<")+len(mk.t.NameOf(element)))
		mk.edits.insert(at, []byte(` id="`+id+`"`))
	}
	eachMeasure(mk.t, func(_ place, holder markup.ID) {
		write(measureElement(mk.t, holder), ids.measures[holder])
	})
	ids.each(func(note, _ markup.ID, id string) { write(note, id) })
}

// unidentify takes the ids off that marking gave.
func (c *cleaner) unidentify() {
	if c.record.ids == "" {
		return
	}
	done := map[markup.ID]bool{}
	eachMeasure(c.t, func(_ place, holder markup.ID) {
		if element := measureElement(c.t, holder); !done[element] {
			done[element] = true
			c.takeID(element)
		}
		for note := range named(c.t, holder, markup.NameNote) {
			c.takeID(note)
		}
	})
}

func (c *cleaner) takeID(element markup.ID) {
	for _, a := range c.t.AttributesOf(element) {
		if a.Name == markup.NameId && bytes.HasPrefix(c.t.Value(a), []byte(c.record.ids)) {
			c.edits.remove(backOverSpace(c.t.Text, a.Start), a.ValueEnd+1)
			return
		}
	}
}
