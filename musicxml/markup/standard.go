package markup

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
)

// Error is a fault in the text of a document and where it stands.
type Error struct {
	Position
	// Problem is a clause without a full stop, such as "unclosed <note>".
	Problem string
}

// Error returns "line 3, column 7: unclosed <note>".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Problem
	}
	return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Problem)
}

// parseStandard reads with the decoder of the standard library. It is the
// reference for documents outside the plain subset.
func parseStandard(text []byte) (*Tree, error) {
	t := &Tree{Text: text}
	d := xml.NewDecoder(bytes.NewReader(text))
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil }
	var stack []ID
	last := make([]ID, 0, 16) // last child by depth
	closed := false
	fail := func(at int64, problem string) (*Tree, error) {
		return nil, &Error{t.PositionOf(int32(at)), problem}
	}
	for {
		start := d.InputOffset()
		token, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			var syntax *xml.SyntaxError
			if errors.As(err, &syntax) {
				return fail(d.InputOffset(), syntax.Msg)
			}
			return fail(d.InputOffset(), err.Error())
		}
		end := d.InputOffset()
		switch token := token.(type) {
		case xml.StartElement:
			if len(stack) == 0 && closed {
				return fail(start, "a second root element")
			}
			id := ID(len(t.Elements))
			e := Element{
				Name: t.names.intern([]byte(fullName(token.Name))), Parent: None, First: None, Next: None,
				Start: int32(start), OpenEnd: int32(end), CloseStart: int32(end), End: int32(end),
				firstAttr: int32(len(t.Attributes)),
			}
			t.scanAttributes(&e)
			if depth := len(stack); depth > 0 {
				e.Parent = stack[depth-1]
				if last[depth-1] == None {
					t.Elements[e.Parent].First = id
				} else {
					t.Elements[last[depth-1]].Next = id
				}
				last[depth-1] = id
			}
			t.Elements = append(t.Elements, e)
			stack, last = append(stack, id), append(last, None)
		case xml.EndElement:
			if len(stack) == 0 {
				return fail(start, "unexpected </"+fullName(token.Name)+">")
			}
			id := stack[len(stack)-1]
			e := &t.Elements[id]
			if t.names.text(e.Name) != fullName(token.Name) {
				return fail(start, "</"+fullName(token.Name)+"> closes <"+t.NameOf(id)+">")
			}
			if start != end { // an empty-element tag yields an end of no width
				e.CloseStart, e.End = int32(start), int32(end)
			}
			stack, last = stack[:len(stack)-1], last[:len(last)-1]
			closed = len(stack) == 0
		case xml.CharData:
			if len(stack) == 0 && len(bytes.TrimSpace(token)) != 0 {
				return fail(start, "text outside the root element")
			}
		}
	}
	if len(stack) > 0 {
		return fail(int64(len(text)), "unclosed <"+t.NameOf(stack[len(stack)-1])+">")
	}
	if len(t.Elements) == 0 {
		return fail(int64(len(text)), "no root element")
	}
	return t, nil
}

func fullName(n xml.Name) string {
	if n.Space != "" {
		return n.Space + ":" + n.Local
	}
	return n.Local
}

// scanAttributes finds the spans of the attributes inside a start tag that the
// standard decoder has accepted.
func (t *Tree) scanAttributes(e *Element) {
	tag := t.Text[e.Start:e.OpenEnd]
	i := bytes.IndexAny(tag, " \t\r\n/>")
	for i >= 0 && i < len(tag) {
		for i < len(tag) && bytes.IndexByte([]byte(" \t\r\n/>"), tag[i]) >= 0 {
			i++
		}
		if i >= len(tag) {
			return
		}
		nameStart := i
		for tag[i] != '=' && bytes.IndexByte([]byte(" \t\r\n"), tag[i]) < 0 {
			i++
		}
		name := tag[nameStart:i]
		for tag[i] != '"' && tag[i] != '\'' {
			i++
		}
		quote := tag[i]
		valueStart := i + 1
		i = valueStart + bytes.IndexByte(tag[valueStart:], quote)
		t.Attributes = append(t.Attributes, Attribute{
			Name:  t.names.intern(name),
			Start: e.Start + int32(nameStart), ValueStart: e.Start + int32(valueStart), ValueEnd: e.Start + int32(i),
		})
		e.attrs++
		i++
	}
}

// Parse reads a document in UTF-8.
func Parse(text []byte) (*Tree, error) { return parseStandard(text) }

// resolve replaces the predefined entities and character references.
func resolve(raw []byte) []byte {
	if bytes.IndexByte(raw, '&') < 0 {
		return raw
	}
	var out bytes.Buffer
	d := xml.NewDecoder(io.MultiReader(bytes.NewReader([]byte("<x>")), bytes.NewReader(raw), bytes.NewReader([]byte("</x>"))))
	for {
		token, err := d.RawToken()
		if err != nil {
			return out.Bytes()
		}
		if text, ok := token.(xml.CharData); ok {
			out.Write(text)
		}
	}
}

// characterData returns the text of a stretch without elements: references and
// CDATA resolved, comments and processing instructions left out.
func characterData(raw []byte) []byte {
	if bytes.IndexByte(raw, '&') < 0 && bytes.IndexByte(raw, '<') < 0 {
		return raw
	}
	return resolve(append([]byte{}, raw...))
}
