package musicxml

import (
	"strconv"

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

// key writes the key under the first measure of the lowest part. That measure begins
// at the left of the page in every layout. Where the last system stands, and how much
// of a line its last measure leaves, the program that draws the score decides.
func (mk *marker) key(m *Marks) {
	holder, staves := firstMeasure(mk.t)
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
	w := words{placement: "below", size: keySize, colored: !mk.plain, placed: true, in: in, runs: 1}
	if staves > 1 {
		w.staff = strconv.Itoa(staves)
	}
	y := -keyTop - verseHeight*verses(mk.t, holder)
	if m.Annotations.below() {
		y -= annotationHeight
	}
	weight := "bold"
	for _, line := range mk.keyLines {
		mk.write(at, w, ink{y, []run{{line.color, weight, line.text}}})
		weight = "normal"
		y -= keyLineHeight * line.height()
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
