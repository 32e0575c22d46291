package markup

import (
	"bytes"
	"unicode/utf8"
)

// plainScanner reads the plain subset of XML that nearly all scores keep to:
// names in ASCII, a DOCTYPE without internal subset, neither CDATA nor
// processing instructions. Its verdict is yes or none: whatever is faulty, over
// a limit or outside the subset it leaves to the standard reader, so that there
// is one place that words errors.
//
// Every method takes the offset to begin at and returns the offset to go on at,
// or -1.
type plainScanner struct {
	t      *Tree
	limits Limits
	open   []openTag
}

// openTag is an element whose end tag is still to come: its last child yet, and
// where its name stands.
type openTag struct {
	id, last        ID
	nameAt, nameEnd int32
}

// parsePlain returns nil where the standard reader has to decide.
func parsePlain(text []byte, limits Limits) *Tree {
	s := plainScanner{t: newTree(text, limits), limits: limits, open: make([]openTag, 0, 16)}
	i := s.prolog()
	if i < 0 {
		return nil
	}
	if i = s.rootElement(i); i < 0 || s.misc(i) != len(text) {
		return nil
	}
	return s.t
}

// rootElement reads from the root's start tag to its end tag.
func (s *plainScanner) rootElement(i int) int {
	text := s.t.Text
	for {
		s.limits.Work.Step(1)
		if i+1 >= len(text) || text[i] != '<' {
			return -1
		}
		switch text[i+1] {
		case '/':
			i = s.endTag(i)
		case '!':
			i = s.comment(i)
		default:
			i = s.startTag(i)
		}
		if i < 0 || len(s.open) == 0 {
			return i
		}
		if i = s.characters(i, plainText); i < 0 {
			return -1
		}
	}
}

func (s *plainScanner) startTag(at int) int {
	text, t := s.t.Text, s.t
	nameAt := at + 1
	name, i := s.name(nameAt)
	if i < 0 || len(t.Elements) >= s.limits.Elements || len(s.open) >= s.limits.Depth {
		return -1
	}
	nameEnd, firstAttr := i, len(t.Attributes)
	for i < len(text) && text[i] != '>' && text[i] != '/' {
		if i = s.attribute(i, firstAttr); i < 0 {
			return -1
		}
	}
	empty := i < len(text) && text[i] == '/'
	if empty {
		i++
	}
	if i >= len(text) || text[i] != '>' {
		return -1
	}
	i++
	id := ID(len(t.Elements))
	t.Elements = append(t.Elements, Element{
		Name: name, attrs: uint16(len(t.Attributes) - firstAttr), firstAttr: int32(firstAttr),
		Parent: s.adopt(id), First: None, Next: None,
		Start: int32(at), OpenEnd: int32(i), CloseStart: int32(i), End: int32(i),
	})
	if !empty {
		s.open = append(s.open, openTag{id: id, last: None, nameAt: int32(nameAt), nameEnd: int32(nameEnd)})
	}
	return i
}

// adopt links an element to its parent and elder sibling.
func (s *plainScanner) adopt(id ID) ID {
	if len(s.open) == 0 {
		return None
	}
	top := &s.open[len(s.open)-1]
	if top.last == None {
		s.t.Elements[top.id].First = id
	} else {
		s.t.Elements[top.last].Next = id
	}
	top.last = id
	return top.id
}

// attribute reads the white space of a tag and, if one follows, the attribute.
func (s *plainScanner) attribute(i, firstAttr int) int {
	text, t := s.t.Text, s.t
	start := skipSpace(text, i)
	if start == i || start == len(text) {
		return -1
	}
	if text[start] == '>' || text[start] == '/' {
		return start
	}
	name, i := s.name(start)
	if i < 0 {
		return -1
	}
	if i = skipSpace(text, i); i >= len(text) || text[i] != '=' {
		return -1
	}
	if i = skipSpace(text, i+1); i >= len(text) {
		return -1
	}
	quote, kind := text[i], plainDouble
	if quote == '\'' {
		kind = plainSingle
	} else if quote != '"' {
		return -1
	}
	value := i + 1
	if i = s.characters(value, kind); i < 0 || i >= len(text) || text[i] != quote {
		return -1
	}
	if len(t.Attributes)-firstAttr >= s.limits.Attributes || len(t.Attributes) >= s.limits.TotalAttributes {
		return -1
	}
	for _, a := range t.Attributes[firstAttr:] {
		if a.Name == name {
			return -1
		}
	}
	t.Attributes = append(t.Attributes, Attribute{Name: name, Start: int32(start), ValueStart: int32(value), ValueEnd: int32(i)})
	return i + 1
}

func (s *plainScanner) endTag(at int) int {
	text, depth := s.t.Text, len(s.open)-1
	if depth < 0 {
		return -1
	}
	top := s.open[depth]
	name := text[top.nameAt:top.nameEnd]
	i := at + 2 + len(name)
	if i >= len(text) || string(text[at+2:i]) != string(name) {
		return -1
	}
	if text[i] != '>' {
		if i = skipSpace(text, i); i >= len(text) || text[i] != '>' {
			return -1
		}
	}
	e := &s.t.Elements[top.id]
	e.CloseStart, e.End = int32(at), int32(i+1)
	s.open = s.open[:depth]
	return i + 1
}

// name reads a name and gives its number.
func (s *plainScanner) name(at int) (Name, int) {
	text := s.t.Text
	if at >= len(text) || class[text[at]]&nameStart == 0 {
		return 0, -1
	}
	i := at + 1
	for i < len(text) && class[text[i]]&nameByte != 0 {
		i++
	}
	if i == len(text) {
		return 0, -1
	}
	raw := text[at:i]
	if name, ok := lookUpStandard(raw); ok {
		return name, i
	}
	name, ok := s.t.names.intern(raw)
	if !ok || bytes.Count(raw, []byte{':'}) > 1 {
		return 0, -1
	}
	return name, i
}

// characters skips character data, or the value of an attribute, up to the first
// byte that may not stand for itself in it.
func (s *plainScanner) characters(i int, kind uint8) int {
	text := s.t.Text
	for i < len(text) {
		c := text[i]
		switch {
		case class[c]&kind != 0:
			i++
		case c >= utf8.RuneSelf:
			r, size := utf8.DecodeRune(text[i:])
			if r == utf8.RuneError && size == 1 || r == 0xFFFE || r == 0xFFFF {
				return -1
			}
			i += size
		case c == '&':
			_, length, ok := reference(text[i:])
			if !ok {
				return -1
			}
			i += length
		case c == ']' && !bytes.HasPrefix(text[i:], cdataClose):
			i++
		default:
			return i
		}
	}
	return i
}

// comment reads a comment; other markup that begins with "<!" is not plain.
func (s *plainScanner) comment(i int) int {
	text := s.t.Text
	if !bytes.HasPrefix(text[i:], commentOpen) {
		return -1
	}
	i += len(commentOpen)
	length := bytes.Index(text[i:], []byte("--"))
	end := i + length + 2
	if length < 0 || end >= len(text) || text[end] != '>' || checkCharacters(text[i:end], s.limits) != nil {
		return -1
	}
	return end + 1
}
