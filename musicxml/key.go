package musicxml

import (
	"strconv"
	"strings"

	"partwright/musicxml/markup"
)

// The key's first line stands keyTop tenths below the top line of its staff,
// verseHeight lower for each verse of lyrics, and each line keyLineHeight below
// the one before. A program that places text by itself pays no heed.
const (
	keyTop        = 110
	keyLineHeight = 20
	verseHeight   = 25
	// annotationHeight is what numerals and figures take.
	annotationHeight = 60
)

// key writes the key under the last measure of the lowest part, at the measure's
// start and from left to right: a text that begins at the end would leave the
// page in a full system, one that ends there would in a short one.
func (mk *marker) key(m *Marks) {
	holder, staves := lastMeasure(mk.t)
	if holder == markup.None {
		return
	}
	at, in := mk.keyPlace(holder)
	e := &mk.t.Elements[holder]
	opened := isEmptyTag(e)
	if opened {
		mk.edits.replace(e.OpenEnd-2, e.OpenEnd, []byte(">"))
		mk.record.opened["measure"] = true
	}
	w := words{placement: "below", size: keySize, colored: !mk.plain, placed: true, in: in}
	if staves > 1 {
		w.staff = strconv.Itoa(staves)
	}
	k := ink{weight: "bold", y: -keyTop - verseHeight*verses(mk.t, holder)}
	if m.Annotations.below() {
		k.y -= annotationHeight
	}
	for _, line := range m.keyLines() {
		k.color, k.text = line.color, line.text
		mk.write(at, w, k)
		k.weight = "normal"
		k.y -= keyLineHeight * (1 + strings.Count(line.text, "\n"))
	}
	if opened {
		mk.edits.insert(at, []byte("</"+mk.t.NameOf(holder)+">"))
	}
}

// keyPlace returns where the key goes: before the first note; without notes
// before the last element of the measure; in an empty measure before its end.
func (mk *marker) keyPlace(holder markup.ID) (at int32, in surroundings) {
	t := mk.t
	first := t.Child(holder, markup.NameNote)
	if first == markup.None {
		for c := t.Elements[holder].First; c != markup.None; c = t.Elements[c].Next {
			first = c
		}
	}
	if first != markup.None {
		return t.Elements[first].Start, around(t, first)
	}
	e := &t.Elements[holder]
	if isEmptyTag(e) {
		return e.End, surroundings{}
	}
	return e.CloseStart, before(t.Text, e.CloseStart)
}

// isEmptyTag tells whether an element is written as <name/>.
func isEmptyTag(e *markup.Element) bool { return e.CloseStart == e.End }

// verses counts the verses of lyrics in a measure.
func verses(t *markup.Tree, holder markup.ID) (most int) {
	for note := range named(t, holder, markup.NameNote) {
		n := 0
		for range named(t, note, markup.NameLyric) {
			n++
		}
		most = max(most, n)
	}
	return min(most, 9)
}
