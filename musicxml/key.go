package musicxml

import (
	"strconv"

	"partwright/musicxml/markup"
	"partwright/theory"
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
	at, in := mk.keyPlace(holder, staves)
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

// keyPlace returns where the key goes: before the note that opens the lowest staff, or else
// before the first note; without notes before the last element of the measure; in an empty
// measure before its end. LilyPond's converter heeds no <staff> of a direction: it sets the key
// under the staff of the note that comes next.
func (mk *marker) keyPlace(holder markup.ID, staves int) (at int32, in surroundings) {
	t := mk.t
	first := mk.opening(holder, staves)
	if first == markup.None {
		first = t.Child(holder, markup.NameNote)
	}
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

// opening returns the note of a staff that stands at the beginning of a measure, None where
// there is none or only one staff.
func (mk *marker) opening(holder markup.ID, staff int) markup.ID {
	if staff == 1 {
		return markup.None
	}
	t := mk.t
	at := theory.Whole(0)
	for c := t.Elements[holder].First; c != markup.None; c = t.Elements[c].Next {
		t.Work.Step(1)
		sign := int64(1)
		switch t.Elements[c].Name {
		case markup.NameNote:
			if at.Sign() == 0 && mk.content(c, markup.NameStaff) == strconv.Itoa(staff) {
				return c
			}
			if t.Child(c, markup.NameChord) != markup.None {
				continue
			}
		case markup.NameBackup:
			sign = -1
		case markup.NameForward:
		default:
			continue
		}
		if d, fault := parseDecimal([]byte(mk.content(c, markup.NameDuration))); fault == numberFine {
			at = at.Add(theory.Frac(sign*d.digits, d.scale))
		}
	}
	return markup.None
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
