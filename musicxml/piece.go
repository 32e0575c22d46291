package musicxml

import (
	"bytes"
	"encoding/xml"
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

// words is a direction of words, but for the words themselves.
type words struct {
	placement, color, size, weight string
	// defaultY is in tenths from the top line of the staff; "" for none.
	defaultY     string
	voice, staff string
	in           surroundings
}

// frame is a direction cut where the words go.
type frame struct{ head, tail []byte }

// build makes the direction with etree, laid out like its surroundings.
func (w *words) build() frame {
	direction := etree.NewElement("direction")
	direction.CreateAttr("placement", w.placement)
	text := direction.CreateElement("direction-type").CreateElement("words")
	for _, a := range [][2]string{
		{"default-y", w.defaultY}, {"font-style", "normal"}, {"font-size", w.size},
		{"font-weight", w.weight}, {"color", w.color},
	} {
		if a[1] != "" {
			text.CreateAttr(a[0], a[1])
		}
	}
	const slot = "{words}"
	text.SetText(slot)
	for _, child := range [][2]string{{"voice", w.voice}, {"staff", w.staff}} {
		if child[1] != "" {
			direction.CreateElement(child[0]).SetText(child[1])
		}
	}
	head, tail, _ := bytes.Cut(layOut(direction, w.in), []byte(slot))
	return frame{head, append(tail, w.in.before...)}
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

// escape writes text as character data, line feeds as references, so that no
// program takes them for layout.
func escape(text string) []byte {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(text)) // a buffer takes everything
	return b.Bytes()
}
