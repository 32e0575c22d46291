package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
)

// markKind says which part of our marks a text is.
type markKind int8

const (
	noMark markKind = iota
	numberMark
	headingMark
	entryMark
	familyMarkLine
	// figuresMark is a stack of figures as a text, which belongs to the annotations.
	figuresMark
)

// seenMark is a direction-type that may be a mark.
type seenMark struct {
	kind markKind
	// colored is set where all its words have colors of marks, those of figures that of
	// annotations.
	colored bool
	// labels are the numbers of a numberMark, or the first word of an entryMark
	// or familyMarkLine.
	labels []label
}

// ours tells whether it is a mark: by text and color, or where the marks have no
// colors by text alone.
func (s seenMark) ours(plain bool) bool { return s.kind != noMark && (s.colored || plain) }

// readMark looks at a direction: a mark if one of its direction-types is.
func readMark(t *markup.Tree, direction markup.ID) seenMark {
	for d := range named(t, direction, markup.NameDirectionType) {
		if s := readMarkType(t, d); s.kind != noMark {
			return s
		}
	}
	return seenMark{}
}

// readMarkType reads the words of a direction-type; a program may have cut them
// into several elements.
func readMarkType(t *markup.Tree, directionType markup.ID) seenMark {
	s := seenMark{colored: true}
	annotated := true
	var text []byte
	for c := t.Elements[directionType].First; c != markup.None; c = t.Elements[c].Next {
		if t.Elements[c].Name != markup.NameWords {
			return seenMark{}
		}
		color, _ := t.Attr(c, markup.NameColor)
		s.colored = s.colored && isMarkColor(color)
		annotated = annotated && sameColor(color, labelColor)
		text = append(append(text, t.Content(c)...), ' ')
	}
	if len(text) > 0 && (annotated || !s.colored && isFigures(text)) {
		return seenMark{kind: figuresMark, colored: annotated}
	}
	s.kind, s.labels = readMarkText(text)
	return s
}

// isFigures tells whether a text could be figures as marking writes them.
func isFigures(text []byte) bool {
	const signs = "\u266f\u266d\u266e\u2013" // as chordlabel has them
	rest := bytes.TrimSpace(text)
	return len(rest) > 0 && len(bytes.Trim(rest, "0123456789 \t\r\n"+signs)) == 0
}

func readMarkText(text []byte) (markKind, []label) {
	first, rest := cutField(text)
	switch {
	case string(first) == badge:
		return headingMark, nil
	case len(first) == 2 && first[0] == 'n':
		if l, ok := parseLabel([]byte{'1', first[1]}); ok {
			return familyMarkLine, []label{l}
		}
		return noMark, nil
	}
	l, ok := parseLabel(first)
	if !ok {
		return noMark, nil
	}
	labels := []label{l}
	for len(rest) > 0 {
		first, rest = cutField(rest)
		if l, ok = parseLabel(first); !ok {
			return entryMark, labels[:1]
		}
		labels = append(labels, l)
	}
	return numberMark, labels
}

// cutField returns the first word of a text and what follows it.
func cutField(text []byte) (first, rest []byte) {
	text = bytes.TrimLeft(text, " \t\r\n")
	if i := bytes.IndexAny(text, " \t\r\n"); i >= 0 {
		return text[:i], bytes.TrimLeft(text[i:], " \t\r\n")
	}
	return text, nil
}
