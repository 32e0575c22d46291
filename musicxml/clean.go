package musicxml

import "partwright/musicxml/markup"

// cleaner takes the marks off one document.
type cleaner struct {
	t      *markup.Tree
	field  markup.ID
	record *record
	// plain: marks are known by text alone. numbers are then those of the key,
	// which stands in the measure keyHolder.
	plain     bool
	keyHolder markup.ID
	numbers   map[string]bool

	colors      map[place]string
	keep, texts map[place]bool
	heads       map[place]bool
	ours        map[markup.ID]bool
	// faded tells that a program has dropped the colors of annotations, figures in words
	// among them.
	faded bool
	edits splice
}

func newCleaner(t *markup.Tree) *cleaner {
	c := &cleaner{t: t, field: recordField(t), record: &record{}, keyHolder: markup.None}
	if c.field != markup.None {
		c.record = parseRecord(string(t.Content(c.field)))
	}
	c.indexRecord()
	return c
}

// isMarked looks for the key and tells whether there is one, or a record.
func (c *cleaner) isMarked() bool { return c.findKey() || c.field != markup.None }

// clean returns the edits that take the marks off; none if there are none.
func clean(t *markup.Tree) splice {
	c := newCleaner(t)
	if !c.isMarked() {
		return nil
	}
	c.ours = c.annotations()
	c.sungLyrics(c.ours)
	eachMeasure(t, c.measure)
	c.unidentify()
	c.removeRecord()
	c.downgrade()
	return c.edits
}

func (c *cleaner) indexRecord() {
	c.colors, c.keep, c.texts = map[place]string{}, map[place]bool{}, map[place]bool{}
	for _, old := range c.record.colors {
		c.colors[old.at] = old.value
	}
	for _, p := range c.record.keep {
		c.keep[p] = true
	}
	c.heads = map[place]bool{}
	for _, p := range c.record.heads {
		c.heads[p] = true
	}
	for _, p := range c.record.texts {
		c.texts[p] = true
	}
}

// measure takes marks off one measure of one part.
func (c *cleaner) measure(at place, holder markup.ID) {
	notes, directions := int32(0), int32(0)
	from, left := len(c.edits), false
	for id := c.t.Elements[holder].First; id != markup.None; id = c.t.Elements[id].Next {
		c.t.Work.Step(1)
		gone := false
		switch c.t.Elements[id].Name {
		case markup.NameNote:
			notes++
			if !c.record.plain {
				c.note(id, place{at.part, at.measure, notes})
				c.unhead(id, place{at.part, at.measure, notes})
				c.unsing(id)
			}
		case markup.NameDirection:
			directions++
			if !c.texts[place{at.part, at.measure, directions}] {
				gone = c.direction(id, holder)
			}
		case markup.NameHarmony, markup.NameFiguredBass:
			if c.ours[id] {
				gone = true
				c.removeElement(id)
			}
		}
		left = left || !gone
	}
	if !left && c.record.opened["measure"] && holder == c.keyHolder {
		c.edits = c.edits[:from]
		c.closeTag(holder)
	}
}

// note takes the color of a mark off a note, or gives back the one it had.
func (c *cleaner) note(id markup.ID, at place) {
	for _, a := range c.t.AttributesOf(id) {
		if a.Name != markup.NameColor {
			continue
		}
		if _, ok := familyOfColor(c.t.Value(a)); !ok || c.keep[at] {
			return
		}
		quote := c.t.Text[a.ValueEnd]
		if old, ok := c.colors[at]; ok && fitsAttribute(old, quote) {
			c.edits.replace(a.ValueStart, a.ValueEnd, []byte(old))
		} else {
			c.edits.remove(backOverSpace(c.t.Text, a.Start), a.ValueEnd+1)
		}
		return
	}
}

// fitsAttribute tells whether a raw value may stand between such quotes: the
// record of a document that someone else wrote is not to be trusted.
func fitsAttribute(raw string, quote byte) bool {
	text := "<note color=" + string(quote) + raw + string(quote) + "/>"
	t, err := markup.Parse([]byte(text), markup.Limits{})
	return err == nil && len(t.Elements) == 1 && len(t.AttributesOf(0)) == 1
}

// direction takes a direction off, or what of it is a mark; gone tells that
// nothing is left.
func (c *cleaner) direction(id, holder markup.ID) (gone bool) {
	var marks []markup.ID
	others := false
	for d := range named(c.t, id, markup.NameDirectionType) {
		if c.isMark(readMarkType(c.t, d), holder) {
			marks = append(marks, d)
		} else {
			others = true
		}
	}
	if len(marks) == 0 {
		return false
	}
	if !others {
		c.removeElement(id)
		return true
	}
	for _, d := range marks {
		c.removeElement(d)
	}
	return false
}

// isMark decides. Where colors do not help, a number must be one of the key and
// the rest must stand beside its heading.
func (c *cleaner) isMark(s seenMark, holder markup.ID) bool {
	if s.kind == figuresMark {
		return s.colored || c.faded
	}
	if !s.ours(c.plain) {
		return false
	}
	if !c.plain || holder == c.keyHolder {
		return true
	}
	for _, l := range s.labels {
		if !c.numbers[l.number] {
			return false
		}
	}
	return s.kind == numberMark
}

// removeElement removes an element and the white space after it, as it was
// inserted.
func (c *cleaner) removeElement(id markup.ID) {
	e := &c.t.Elements[id]
	c.edits.remove(e.Start, overSpace(c.t.Text, e.End))
}

// closeTag makes <name></name> an empty-element tag.
func (c *cleaner) closeTag(id markup.ID) {
	e := &c.t.Elements[id]
	c.edits.replace(e.OpenEnd-1, e.End, []byte("/>"))
}

// removeRecord removes the record and whatever was made or opened for it.
func (c *cleaner) removeRecord() {
	if c.field == markup.None {
		return
	}
	t := c.t
	miscellaneous := t.Elements[c.field].Parent
	identification := t.Elements[miscellaneous].Parent
	made, opened := c.record.made, c.record.opened
	alone, aloneAbove := onlyChild(t, c.field), onlyChild(t, miscellaneous)
	switch {
	case made["identification"] && alone && aloneAbove:
		c.removeElement(identification)
	case made["miscellaneous"] && opened["identification"] && alone && aloneAbove:
		c.closeTag(identification)
	case (made["miscellaneous"] || made["identification"]) && alone:
		e := &t.Elements[miscellaneous]
		if t.Elements[identification].First == miscellaneous {
			c.removeElement(miscellaneous)
		} else {
			c.edits.remove(backOverSpace(t.Text, e.Start), e.End)
		}
	case opened["miscellaneous"] && alone:
		c.closeTag(miscellaneous)
	default:
		c.removeElement(c.field)
	}
}

func onlyChild(t *markup.Tree, id markup.ID) bool {
	return t.Elements[id].Next == markup.None && t.Elements[t.Elements[id].Parent].First == id
}
