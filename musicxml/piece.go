package musicxml

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"

	"github.com/beevik/etree"

	"partwright/musicxml/markup"
)

// surroundings are how the text around a place is laid out.
type surroundings struct {
	// before is the white space in front of the place.
	before string
	// lineEnd and base are the parts of it that a new line begins with, unit one
	// step of indentation. A document in one line has no lineEnd.
	lineEnd, base, unit string
}

// around looks at the white space before an element.
func around(t *markup.Tree, id markup.ID) surroundings {
	s := before(t.Text, t.Elements[id].Start)
	if parent := t.Elements[id].Parent; parent != markup.None && s.lineEnd != "" {
		outer := before(t.Text, t.Elements[parent].Start)
		s.unit = indentUnit(s.base, outer.base)
	}
	return s
}

func before(text []byte, at int32) surroundings {
	start := backOverSpace(text, at)
	white := string(text[start:at])
	s := surroundings{before: white}
	if i := strings.LastIndexByte(white, '\n'); i >= 0 {
		s.lineEnd, s.base = "\n", white[i+1:]
		if i > 0 && white[i-1] == '\r' {
			s.lineEnd = "\r\n"
		}
	}
	return s
}

func indentUnit(inner, outer string) string {
	if strings.HasPrefix(inner, outer) && len(inner)-len(outer) <= 8 {
		return inner[len(outer):]
	}
	return ""
}

func backOverSpace(text []byte, at int32) int32 {
	for at > 0 && isSpace(text[at-1]) {
		at--
	}
	return at
}

func overSpace(text []byte, at int32) int32 {
	for int(at) < len(text) && isSpace(text[at]) {
		at++
	}
	return at
}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

// words is a direction of words as it comes again and again in one document.
type words struct {
	placement, size string
	// colored directions have a color, placed ones a default-y.
	colored, placed bool
	voice, staff    string
	in              surroundings
}

// ink is what differs from one direction to the next.
type ink struct {
	color, weight string
	// y is in tenths from the top line of the staff.
	y    int
	text string
}

// The slots of a frame, in the order in which they stand.
var slots = [...]string{"{y}", "{weight}", "{color}", "{words}"}

// frame is a direction cut at its slots; a slot that it lacks cuts off nothing.
type frame struct {
	literals [len(slots) + 1][]byte
	has      [len(slots)]bool
}

// build makes the direction with etree, laid out like its surroundings.
func (w *words) build() *frame {
	direction := etree.NewElement("direction")
	direction.CreateAttr("placement", w.placement)
	text := direction.CreateElement("direction-type").CreateElement("words")
	if w.placed {
		text.CreateAttr("default-y", slots[0])
	}
	text.CreateAttr("font-style", "normal")
	text.CreateAttr("font-size", w.size)
	text.CreateAttr("font-weight", slots[1])
	if w.colored {
		text.CreateAttr("color", slots[2])
	}
	text.SetText(slots[3])
	for _, child := range [][2]string{{"voice", w.voice}, {"staff", w.staff}} {
		if child[1] != "" {
			direction.CreateElement(child[0]).SetText(child[1])
		}
	}
	f, rest := &frame{}, layOut(direction, w.in)
	for i, slot := range slots {
		if head, tail, ok := bytes.Cut(rest, []byte(slot)); ok {
			f.literals[i], f.has[i], rest = head, true, tail
		}
	}
	f.literals[len(slots)] = append(rest, w.in.before...)
	return f
}

// fill writes the direction and the white space behind it.
func (f *frame) fill(k ink) []byte {
	out := make([]byte, 0, 512)
	for i := range slots {
		out = append(out, f.literals[i]...)
		if !f.has[i] {
			continue
		}
		switch i {
		case 0:
			out = strconv.AppendInt(out, int64(k.y), 10)
		case 1:
			out = append(out, k.weight...)
		case 2:
			out = append(out, k.color...)
		default:
			out = appendEscaped(out, k.text)
		}
	}
	return append(out, f.literals[len(slots)]...)
}

// layOut writes an element whose first line stands at a place in the text.
func layOut(e *etree.Element, in surroundings) []byte {
	doc := etree.NewDocumentWithRoot(e)
	if in.lineEnd != "" {
		doc.IndentWithSettings(&etree.IndentSettings{
			Spaces: len(in.unit), UseTabs: strings.HasPrefix(in.unit, "\t"), UseCRLF: in.lineEnd == "\r\n",
			SuppressTrailingWhitespace: true,
		})
	}
	out, err := doc.WriteToBytes()
	if err != nil { // a buffer takes everything
		panic(err)
	}
	if in.base != "" {
		out = bytes.ReplaceAll(out, []byte("\n"), []byte("\n"+in.base))
	}
	return out
}

// appendEscaped writes text as character data, line feeds as references, so that
// no program takes them for layout.
func appendEscaped(out []byte, text string) []byte {
	b := bytes.NewBuffer(out)
	_ = xml.EscapeText(b, []byte(text)) // a buffer takes everything
	return b.Bytes()
}
