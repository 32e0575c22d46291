// Package markup turns the text of an XML document into a flat list of elements
// that keep their place in the text, so that a score can be read at speed and
// the text be given back with nothing changed but what was spliced in.
//
// It is not a general XML library: no namespaces, no entities beyond the five
// predefined ones and character references, nothing fetched. Begin with [Parse].
package markup

import (
	"fmt"
	"sync"

	"partwright/theory"
)

// ID is the index of an element in its [Tree], in document order.
type ID int32

// None is the ID of no element.
const None ID = -1

// Element is one element and the places of its tags in the text.
type Element struct {
	// Name is the element's name, interned; see [Name].
	Name Name
	// attrs is the number of attributes, firstAttr the index of the first.
	attrs     uint16
	firstAttr int32
	// Parent, First child and Next sibling; None where there is none.
	Parent, First, Next ID
	// Start and OpenEnd bound the start tag, CloseStart and End the end tag, as
	// byte offsets in the text. An empty-element tag has CloseStart == End ==
	// OpenEnd.
	Start, OpenEnd, CloseStart, End int32
}

// Attribute is one attribute: its name and the span of its raw value, without
// the quotes, in the text. Start is where the attribute's name begins.
type Attribute struct {
	Name                        Name
	Start, ValueStart, ValueEnd int32
}

// Tree is a parsed document. It does not change once parsed.
type Tree struct {
	// Text is the document in UTF-8, exactly as the offsets count it.
	Text       []byte
	Elements   []Element
	Attributes []Attribute
	// Work is the budget of whoever goes through the tree, nil for none.
	Work *theory.Work

	names nameTable

	indexLines  sync.Once
	linesBefore []lineStart
}

// Parse reads a document in UTF-8 without a byte order mark; what its
// declaration says about the encoding is not looked at. The tree keeps the text,
// which must not be modified afterwards. A document that is not well-formed or
// is over a limit is an [*Error].
func Parse(text []byte, limits Limits) (*Tree, error) {
	limits = limits.withDefaults()
	if int64(len(text)) > limits.Bytes {
		return nil, &Error{Problem: fmt.Sprintf("more than %d bytes of text", limits.Bytes), limit: true}
	}
	if t := parsePlain(text, limits); t != nil {
		return t, nil
	}
	return parseStandard(text, limits)
}

// TextAlone returns a tree that knows its text and the places in it, and no elements.
func (t *Tree) TextAlone() *Tree { return &Tree{Text: t.Text, Work: t.Work} }

// Root returns the document element.
func (t *Tree) Root() ID { return 0 }

// Child returns the first child of an element that has the name, or None.
func (t *Tree) Child(id ID, name Name) ID {
	for c := t.Elements[id].First; c != None; c = t.Elements[c].Next {
		if t.Elements[c].Name == name {
			return c
		}
	}
	return None
}

// NameOf returns the element's name as text.
func (t *Tree) NameOf(id ID) string { return t.names.text(t.Elements[id].Name) }

// AttributesOf returns the attributes of an element in order.
func (t *Tree) AttributesOf(id ID) []Attribute {
	e := &t.Elements[id]
	return t.Attributes[e.firstAttr : e.firstAttr+int32(e.attrs)]
}

// Attr returns the value of an attribute, references resolved, and whether the
// element has it. The bytes may share the text: do not modify.
func (t *Tree) Attr(id ID, name Name) ([]byte, bool) {
	for _, a := range t.AttributesOf(id) {
		if a.Name == name {
			return t.Value(a), true
		}
	}
	return nil, false
}

// Value returns the value of an attribute, references resolved. The bytes may
// share the text: do not modify.
func (t *Tree) Value(a Attribute) []byte {
	raw := t.Text[a.ValueStart:a.ValueEnd]
	if isPlain(raw) {
		return raw
	}
	return appendText(nil, raw)
}

// Content returns the character data directly inside an element, references and
// CDATA resolved, comments left out, outer white space trimmed. The bytes may
// share the text: do not modify.
func (t *Tree) Content(id ID) []byte {
	e := &t.Elements[id]
	if e.First == None {
		if raw := t.Text[e.OpenEnd:e.CloseStart]; isPlain(raw) {
			return trim(raw)
		}
	}
	var all []byte
	at := e.OpenEnd
	for c := e.First; c != None; c = t.Elements[c].Next {
		all = appendText(all, t.Text[at:t.Elements[c].Start])
		at = t.Elements[c].End
	}
	return trim(appendText(all, t.Text[at:e.CloseStart]))
}
