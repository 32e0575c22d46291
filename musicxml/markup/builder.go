package markup

import "bytes"

// newTree takes memory for the elements and attributes at once. A well-formed
// document has a slash for each element and an equals sign for each attribute;
// hostile ones have more, so the share of the text that real scores reach bounds
// what is taken before anything is read.
func newTree(text []byte, limits Limits) *Tree {
	const bytesPerElement, bytesPerAttribute = 10, 16
	elements := min(bytes.Count(text, []byte{'/'}), len(text)/bytesPerElement, limits.Elements)
	attributes := min(bytes.Count(text, []byte{'='}), len(text)/bytesPerAttribute, limits.TotalAttributes)
	return &Tree{Text: text, Work: limits.Work, Elements: make([]Element, 0, elements), Attributes: make([]Attribute, 0, attributes)}
}

// builder fills the element list of a tree from tags in document order.
type builder struct {
	t      *Tree
	limits Limits
	open   []frame
	// closed tells that the root element has ended.
	closed bool
}

// frame is an element whose end tag is still to come, and its last child yet.
type frame struct{ id, last ID }

// start adds an element whose attributes, if any, are those from firstAttr on.
func (b *builder) start(name Name, firstAttr, at, openEnd int) *fault {
	t := b.t
	if len(t.Elements) >= b.limits.Elements {
		return limitf(at, "more than %d elements", b.limits.Elements)
	}
	id, parent := ID(len(t.Elements)), None
	if depth := len(b.open); depth > 0 {
		if depth >= b.limits.Depth {
			return limitf(at, "elements nested more than %d deep", b.limits.Depth)
		}
		top := &b.open[depth-1]
		parent = top.id
		if top.last == None {
			t.Elements[parent].First = id
		} else {
			t.Elements[top.last].Next = id
		}
		top.last = id
	} else if b.closed {
		return faultf(at, "a second root element <%s>", t.names.text(name))
	}
	t.Elements = append(t.Elements, Element{
		Name: name, attrs: uint16(len(t.Attributes) - firstAttr), firstAttr: int32(firstAttr),
		Parent: parent, First: None, Next: None,
		Start: int32(at), OpenEnd: int32(openEnd), CloseStart: int32(openEnd), End: int32(openEnd),
	})
	b.open = append(b.open, frame{id, None})
	return nil
}

// end closes the innermost open element, whose end tag lies at the offsets
// given; they are equal for an empty-element tag.
func (b *builder) end(closeStart, end int) {
	depth := len(b.open) - 1
	e := &b.t.Elements[b.open[depth].id]
	e.CloseStart, e.End = int32(closeStart), int32(end)
	b.open = b.open[:depth]
	b.closed = depth == 0
}
