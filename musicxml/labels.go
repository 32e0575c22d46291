package musicxml

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"partwright/theory/partwriting"
)

// brackets stand around a number and its sign by severity: square for a fault,
// round for a caution, none for a remark.
func brackets(s partwriting.Severity) (left, right string) {
	switch s {
	case partwriting.Fault:
		return "[", "]"
	case partwriting.Caution:
		return "(", ")"
	default:
		return "", ""
	}
}

// appendLabel adds what stands above a note: "[12=]", "(3~)" or "4*".
func appendLabel(out []byte, number string, f partwriting.Family, s partwriting.Severity) []byte {
	left, right := brackets(s)
	out = append(out, left...)
	out = append(out, number...)
	out = append(out, familyMarks[f].sign)
	return append(out, right...)
}

// label is what [appendLabel] wrote, read back.
type label struct {
	number string
	family partwriting.Family
}

// parseLabel reads one label; ok is false for any other text.
func parseLabel(text []byte) (l label, ok bool) {
	if len(text) == 0 {
		return l, false
	}
	closing := map[byte]byte{'[': ']', '(': ')'}[text[0]]
	if closing != 0 {
		if text[len(text)-1] != closing {
			return l, false
		}
		text = text[1 : len(text)-1]
	}
	digits := bytes.TrimLeft(text, "0123456789")
	if len(digits) != 1 || len(text) < 2 || len(text) > 8 {
		return l, false
	}
	for f := range familyMarks {
		if familyMarks[f].sign == digits[0] {
			return label{string(text[:len(text)-1]), partwriting.Family(f)}, true
		}
	}
	return l, false
}

// badge begins the heading of the key: a mark without a number.
const badge = "[*]"

// keyLines are the texts of the key: the heading with the meaning of the
// brackets, a line for each item, a line for each family in use.
func (m *Marks) keyLines() []keyLine {
	width := keyWidth(len(m.Items))
	lines := make([]keyLine, 0, len(m.Items)+len(familyMarks)+1)
	var families [len(familyMarks)]bool
	var severities [partwriting.Fault + 1]bool
	lines = append(lines, keyLine{})
	var entry []byte
	for i := range m.Items {
		item := &m.Items[i]
		entry = append(appendLabel(entry[:0], item.number(), item.Family, item.Severity), ' ')
		entry = append(entry, item.Sentence...)
		lines = append(lines, keyLine{wrap(string(entry), width), familyMarks[item.Family].color})
		families[item.Family] = true
		severities[item.Severity] = true
	}
	lines[0] = keyLine{m.heading(severities[:], width), headingColor}
	for _, f := range partwriting.Families {
		if families[f] {
			text := "n" + SignOf(f) + " " + m.Legend.family(f)
			lines = append(lines, keyLine{wrap(text, width), ColorOf(f)})
		}
	}
	return lines
}

// keyLine is one text of the key; line feeds break it.
type keyLine struct{ text, color string }

func (m *Marks) heading(used []bool, width int) string {
	text := wrap(badge+" "+m.Heading, width)
	var meanings []string
	for _, s := range []partwriting.Severity{partwriting.Fault, partwriting.Caution, partwriting.Remark} {
		if used[s] {
			left, right := brackets(s)
			meanings = append(meanings, left+"n"+right+" "+m.Legend.severity(s))
		}
	}
	if len(meanings) == 0 {
		return text
	}
	return text + "\n" + wrap(strings.Join(meanings, ", "), width)
}

// keyWidth is the length of the key's lines in characters. The key starts at the
// last measure; a line of 44 at 8 points is as long as a measure and the margin
// beside it. A long key trades width for height.
func keyWidth(items int) int {
	switch {
	case items <= 24:
		return 44
	case items <= 60:
		return 60
	default:
		return 80
	}
}

// wrap breaks text at spaces into lines of at most width characters and makes
// every other white space one space.
func wrap(text string, width int) string {
	var out strings.Builder
	out.Grow(len(text) + 4)
	column := 0
	for word := range strings.FieldsSeq(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case column == 0:
		case column+1+length > width:
			out.WriteByte('\n')
			column = 0
		default:
			out.WriteByte(' ')
			column++
		}
		out.WriteString(word)
		column += length
	}
	return out.String()
}
