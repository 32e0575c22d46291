package markup

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
)

const white = " \t\r\n"

// standardReader reads with the decoder of the standard library, for documents
// outside the plain subset. Where that decoder is laxer than XML 1.0 it adds
// the missing checks; each is named in the strictness test.
type standardReader struct {
	builder
	doctype bool
}

func parseStandard(text []byte, limits Limits) (*Tree, error) {
	r := standardReader{builder: builder{t: newTree(text, limits), limits: limits}}
	for _, check := range []func([]byte, Limits) *fault{checkCharacters, checkTagSizes} {
		if f := check(text, limits); f != nil {
			return nil, f.in(r.t)
		}
	}
	if f := r.read(); f != nil {
		return nil, f.in(r.t)
	}
	return r.t, nil
}

func (r *standardReader) read() *fault {
	text := r.t.Text
	d := xml.NewDecoder(bytes.NewReader(text))
	// The text is UTF-8 already, whatever its declaration says.
	d.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	for {
		r.limits.Work.Step(2)
		at := int(d.InputOffset())
		token, err := d.RawToken()
		to := int(d.InputOffset())
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return r.decoderFault(to, err)
		}
		if f := r.token(token, at, to); f != nil {
			return f
		}
	}
	switch {
	case len(r.open) > 0:
		id := r.open[len(r.open)-1].id
		return faultf(len(text), "the document ends before </%s>, opened in line %d",
			r.t.NameOf(id), r.t.PositionOf(r.t.Elements[id].Start).Line)
	case len(bytes.Trim(text, white)) == 0:
		return faultf(0, "the document is empty")
	case len(r.t.Elements) == 0:
		return faultf(len(text), "the document has no root element")
	}
	return nil
}

func (r *standardReader) decoderFault(at int, err error) *fault {
	var syntax *xml.SyntaxError
	if !errors.As(err, &syntax) {
		return faultf(at, "%s", strings.TrimPrefix(err.Error(), "xml: "))
	}
	if at == len(r.t.Text) && strings.HasPrefix(syntax.Msg, "unexpected EOF") {
		return faultf(at, "the document ends inside a tag or comment")
	}
	return faultf(at, "%s", syntax.Msg)
}

func (r *standardReader) token(token xml.Token, at, to int) *fault {
	raw := r.t.Text[at:to]
	switch token := token.(type) {
	case xml.StartElement:
		return r.startTag(token, at, to)
	case xml.EndElement:
		name := fullName(token.Name)
		if len(r.open) == 0 {
			return faultf(at, "</%s> without a start tag", name)
		}
		id := r.open[len(r.open)-1].id
		if open := r.t.NameOf(id); open != name {
			return faultf(at, "</%s> where </%s> is due", name, open)
		}
		r.end(at, to) // an empty-element tag yields an end of no width
	case xml.CharData:
		if len(r.open) == 0 && len(bytes.Trim(raw, white)) != 0 {
			return faultf(at, "text outside the root element")
		}
		return checkReferences(raw, at)
	case xml.ProcInst:
		if token.Target == "xml" && at != 0 {
			return faultf(at, "an XML declaration that does not stand at the very beginning")
		}
	case xml.Directive:
		return r.directive(token, raw, at)
	}
	return nil
}

func (r *standardReader) startTag(token xml.StartElement, at, to int) *fault {
	if len(r.t.Attributes)+len(token.Attr) > r.limits.TotalAttributes {
		return limitf(at, "more than %d attributes in all", r.limits.TotalAttributes)
	}
	name, ok := r.t.names.intern([]byte(fullName(token.Name)))
	if !ok {
		return limitf(at, "more than %d different names", maxNames)
	}
	first := len(r.t.Attributes)
	if f := r.attributes(token.Attr, at, to); f != nil {
		return f
	}
	return r.start(name, first, at, to)
}

// attributes finds the spans of the attributes of a start tag that the decoder
// has accepted.
func (r *standardReader) attributes(attrs []xml.Attr, at, to int) *fault {
	text := r.t.Text
	i := at + 1 + nameLength(text[at+1:to])
	seen := make(map[Name]bool, len(attrs))
	for _, a := range attrs {
		space := len(text[i:to]) - len(bytes.TrimLeft(text[i:to], white))
		if space == 0 {
			return faultf(i, "no white space before the attribute %s", fullName(a.Name))
		}
		i += space
		start := i
		i += nameLength(text[i:to])
		name, ok := r.t.names.intern(text[start:i])
		if !ok {
			return limitf(start, "more than %d different names", maxNames)
		}
		if seen[name] {
			return faultf(start, "the attribute %s is given twice", text[start:i])
		}
		seen[name] = true
		i += bytes.IndexAny(text[i:to], `"'`)
		quote := text[i]
		i++
		length := bytes.IndexByte(text[i:to], quote)
		if f := checkReferences(text[i:i+length], i); f != nil {
			return f
		}
		r.t.Attributes = append(r.t.Attributes,
			Attribute{Name: name, Start: int32(start), ValueStart: int32(i), ValueEnd: int32(i + length)})
		i += length + 1
	}
	return nil
}

// nameLength returns how many bytes of a start tag belong to the name it
// begins with.
func nameLength(tag []byte) int { return bytes.IndexAny(tag, white+"=/>") }

// directive accepts a document type declaration that names a grammar, which is
// never fetched, and refuses declarations that would change what is read.
func (r *standardReader) directive(token xml.Directive, raw []byte, at int) *fault {
	if !bytes.HasPrefix(raw, []byte("<!DOCTYPE")) {
		return faultf(at, "a declaration <!%.20s that is no DOCTYPE", token)
	}
	if r.doctype || len(r.t.Elements) > 0 {
		return faultf(at, "a second or late DOCTYPE")
	}
	r.doctype = true
	for _, declaration := range []string{"<!ENTITY", "<!ATTLIST"} {
		if i := bytes.Index(raw, []byte(declaration)); i >= 0 {
			return faultf(at+i, "the DOCTYPE holds %s declarations, which are not read; remove them", declaration)
		}
	}
	return nil
}

func fullName(n xml.Name) string {
	if n.Space != "" {
		return n.Space + ":" + n.Local
	}
	return n.Local
}
