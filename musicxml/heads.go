package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
)

// A note of two families has the color of the second on its head:
//
//	<notehead color="#937000">normal</notehead>
//
// A notehead that the author wrote stays as it is.

// ordinary is what a notehead of ours says.
const ordinary = "normal"

// afterHead are the elements that may follow a notehead in a note.
var afterHead = map[string]bool{
	"notehead-text": true, "staff": true, "beam": true, "notations": true, "lyric": true, "play": true, "listen": true,
}

// head colors the head of a note of two families and writes down whether it did.
func (mk *marker) head(note markup.ID, at place) {
	second := mk.paint[note].second
	t := mk.t
	if mk.plain || second.severity == 0 || t.Child(note, markup.NameNotehead) != markup.None || t.Child(note, markup.NameRest) != markup.None {
		return
	}
	element := []byte(`<notehead color="` + ColorOf(second.family) + `">` + ordinary + `</notehead>`)
	mk.record.heads = append(mk.record.heads, at)
	last := markup.None
	for c := t.Elements[note].First; c != markup.None; c = t.Elements[c].Next {
		if afterHead[t.NameOf(c)] {
			mk.edits.insert(t.Elements[c].Start, element, []byte(around(t, c).before))
			return
		}
		last = c
	}
	mk.edits.insert(t.Elements[last].End, []byte(around(t, last).before), element)
}

// unhead takes a head of ours off a note: where there is a record, one that it names.
// Without it, a head in one of our colors is ours; where the colors are lost too, an
// ordinary head, which says nothing, may go.
func (c *cleaner) unhead(note markup.ID, at place) {
	t := c.t
	head := t.Child(note, markup.NameNotehead)
	if head == markup.None || string(bytes.TrimSpace(t.Content(head))) != ordinary {
		return
	}
	switch color, colored := t.Attr(head, markup.NameColor); {
	case c.field != markup.None:
		if !c.heads[at] {
			return
		}
	case colored:
		if _, ours := familyOfColor(color); !ours {
			return
		}
	case !c.plain || len(t.AttributesOf(head)) > 0:
		return
	}
	e := &t.Elements[head]
	if e.Next == markup.None || c.ours[e.Next] { // a lyric of ours goes too
		c.edits.remove(backOverSpace(t.Text, e.Start), e.End)
		return
	}
	c.removeElement(head)
}
