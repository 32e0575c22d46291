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
	// offset is how long after its place a direction stands, in divisions, "" for there.
	offset string
	in     surroundings
	// runs counts the texts that stand side by side.
	runs int
}

// ink is what differs from one direction to the next.
type ink struct {
	// y is in tenths from the top line of the staff.
	y    int
	runs []run
}

// run is a text in one color.
type run struct{ color, weight, text string }

// frame is a direction cut at the places that differ: a literal and what follows it.
type frame struct {
	literals [][]byte
	slots    []slot
}

// slot is a place that differs: what stands there, and of which run.
type slot struct{ what, run int }

const (
	slotY = iota
	slotWeight
	slotColor
	slotText
)

// slotNames stand in the frame while it is built.
var slotNames = [...]string{"{y}", "{weight}", "{color}", "{words}"}

// build makes the direction with etree, laid out like its surroundings.
func (w *words) build() *frame {
	direction := etree.NewElement("direction")
	direction.CreateAttr("placement", w.placement)
	directionType := direction.CreateElement("direction-type")
	var slots []slot
	for i := range w.runs {
		text := directionType.CreateElement("words")
		add := func(what int) string {
			slots = append(slots, slot{what, i})
			return slotNames[what]
		}
		if w.placed && i == 0 {
			text.CreateAttr("default-y", add(slotY))
		}
		text.CreateAttr("font-style", "normal")
		text.CreateAttr("font-size", w.size)
		text.CreateAttr("font-weight", add(slotWeight))
		if w.colored {
			text.CreateAttr("color", add(slotColor))
		}
		text.SetText(add(slotText))
	}
	for _, child := range [][2]string{{"offset", w.offset}, {"voice", w.voice}, {"staff", w.staff}} {
		if child[1] != "" {
			direction.CreateElement(child[0]).SetText(child[1])
		}
	}
	f, rest := &frame{slots: slots}, layOut(direction, w.in)
	for _, s := range slots {
		head, tail, _ := bytes.Cut(rest, []byte(slotNames[s.what]))
		f.literals, rest = append(f.literals, head), tail
	}
	f.literals = append(f.literals, append(rest, w.in.before...))
	return f
}

// fill writes the direction and the white space behind it.
func (f *frame) fill(k ink) []byte {
	out := make([]byte, 0, 512)
	for i, s := range f.slots {
		out = append(out, f.literals[i]...)
		switch r := &k.runs[s.run]; s.what {
		case slotY:
			out = strconv.AppendInt(out, int64(k.y), 10)
		case slotWeight:
			out = append(out, r.weight...)
		case slotColor:
			out = append(out, r.color...)
		default:
			out = appendEscaped(out, r.text)
		}
	}
	return append(out, f.literals[len(f.slots)]...)
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
