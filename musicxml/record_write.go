package musicxml

import (
	"github.com/beevik/etree"

	"partwright/musicxml/markup"
)

// writeRecord puts the record into identification/miscellaneous, adding or
// opening what is missing of them.
func (mk *marker) writeRecord() {
	t := mk.t
	identification := t.Child(t.Root(), markup.NameIdentification)
	if identification == markup.None {
		mk.record.made["identification"] = true
		at := afterTitles(t)
		in := around(t, at)
		piece := mk.piece(in, "identification", "miscellaneous")
		mk.edits.insert(t.Elements[at].Start, piece, []byte(in.before))
		return
	}
	miscellaneous := t.Child(identification, markup.NameMiscellaneous)
	if miscellaneous == markup.None {
		mk.record.made["miscellaneous"] = true
		mk.into(identification, "miscellaneous")
		return
	}
	mk.into(miscellaneous)
}

// into writes the record into an element, inside new elements of the given names
// from the outside in. It goes in front of the first child, but into an
// identification behind the last: the schema wants miscellaneous there.
func (mk *marker) into(parent markup.ID, wrappers ...string) {
	t := mk.t
	e := &t.Elements[parent]
	switch {
	case isEmptyTag(e):
		mk.record.opened[t.NameOf(parent)] = true
		mk.edits.replace(e.OpenEnd-2, e.OpenEnd, []byte(">"))
		mk.edits.insert(e.End, mk.piece(surroundings{}, wrappers...), []byte("</"+t.NameOf(parent)+">"))
	case e.First == markup.None:
		mk.edits.insert(e.CloseStart, mk.piece(surroundings{}, wrappers...))
	case len(wrappers) == 0:
		in := around(t, e.First)
		mk.edits.insert(t.Elements[e.First].Start, mk.piece(in), []byte(in.before))
	default:
		last := e.First
		for t.Elements[last].Next != markup.None {
			last = t.Elements[last].Next
		}
		in := around(t, last)
		mk.edits.insert(t.Elements[last].End, []byte(in.before), mk.piece(in, wrappers...))
	}
}

// piece builds the field and the elements around it.
func (mk *marker) piece(in surroundings, wrappers ...string) []byte {
	field := etree.NewElement("miscellaneous-field")
	field.CreateAttr("name", recordName)
	field.SetText(mk.record.String())
	for i := len(wrappers) - 1; i >= 0; i-- {
		outer := etree.NewElement(wrappers[i])
		outer.AddChild(field)
		field = outer
	}
	return layOut(field, in)
}

// afterTitles returns the child of the root that an identification precedes.
func afterTitles(t *markup.Tree) markup.ID {
	c := t.Elements[t.Root()].First
	for c != markup.None && t.Elements[c].Next != markup.None {
		switch t.Elements[c].Name {
		case markup.NameWork, markup.NameMovementNumber, markup.NameMovementTitle:
			c = t.Elements[c].Next
		default:
			return c
		}
	}
	return c
}
