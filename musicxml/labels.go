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
// brackets, a line for each item that is shown, how many are not, a line for each
// family in use.
func (m *Marks) keyLines(shown []bool, width int) []keyLine {
	lines := make([]keyLine, 1, len(m.Items)+len(familyMarks)+2)
	var families [len(familyMarks)]bool
	var severities [partwriting.Fault + 1]bool
	left := m.Left
	for i := range m.Items {
		if !shown[i] {
			left++
			continue
		}
		lines = append(lines, m.entry(i, width))
		families[m.Items[i].Family] = true
		severities[m.Items[i].Severity] = true
	}
	lines[0] = keyLine{m.heading(severities[:], width), headingColor}
	if left > 0 {
		lines = append(lines, keyLine{wrap(badge+" "+m.Legend.more(left), width), headingColor})
	}
	for _, f := range partwriting.Families {
		if families[f] {
			text := "n" + SignOf(f) + " " + m.Legend.family(f)
			lines = append(lines, keyLine{wrap(text, width), ColorOf(f)})
		}
	}
	widen(lines)
	return lines
}

// widen makes short lines below the heading about as long as the longest by spaces that
// nobody sees. Programs that place each text by itself put one into any gap that it fits
// into: a short line above a long one that makes way for a fermata, and a figure of the
// bass between two lines (seen in Verovio 6.3).
func widen(lines []keyLine) {
	longest := 0
	for i := range lines {
		for line := range strings.SplitSeq(lines[i].text, "\n") {
			longest = max(longest, utf8.RuneCountInString(line))
		}
	}
	for i := range lines[1:] {
		line := &lines[i+1]
		if missing := longest - utf8.RuneCountInString(line.text); missing > 0 && line.height() == 1 {
			line.text += strings.Repeat(wideSpace, missing*spacesPerLetter/10)
		}
	}
}

// wideSpace is a no-break space, which no program takes off; so many tenths of them are as
// wide as a letter is on average (a quarter of the size in most text fonts, from memory).
const (
	wideSpace       = "\u00a0"
	spacesPerLetter = 17
)

// entry is the line of one item.
func (m *Marks) entry(i, width int) keyLine {
	item := &m.Items[i]
	text := append(appendLabel(nil, item.number(), item.Family, item.Severity), ' ')
	return keyLine{wrap(string(append(text, item.Sentence...)), width), ColorOf(item.Family)}
}

// keyLine is one text of the key; line feeds break it.
type keyLine struct{ text, color string }

func (l *keyLine) height() int { return 1 + strings.Count(l.text, "\n") }

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
