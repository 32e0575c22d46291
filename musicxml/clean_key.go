package musicxml

import (
	"strconv"

	"partwright/musicxml/markup"
)

// findKey looks for the heading of the key: by its color or, where the record
// says that the marks have none, by its text. Without either, since a program
// may have dropped both, the text must be that of a whole key.
func (c *cleaner) findKey() bool {
	switch {
	case c.record.plain:
		c.plain = true
		return c.findHeading(func(markup.ID) bool { return true })
	case c.findHeading(func(markup.ID) bool { return true }):
		return true
	default:
		c.plain = true
		found := c.findHeading(c.isWholeKey)
		c.plain = found
		return found
	}
}

// findHeading finds the last measure with a heading that fits and that the record
// does not call the author's own.
func (c *cleaner) findHeading(fits func(holder markup.ID) bool) bool {
	eachMeasure(c.t, func(at place, holder markup.ID) {
		for d := range named(c.t, holder, markup.NameDirection) {
			at.index++
			if s := readMark(c.t, d); s.kind == headingMark && s.ours(c.plain) && !c.texts[at] {
				if fits(holder) {
					c.keyHolder = holder
				}
				return
			}
		}
	})
	if c.keyHolder == markup.None {
		return false
	}
	c.numbers = map[string]bool{}
	for d := range named(c.t, c.keyHolder, markup.NameDirection) {
		if s := readMark(c.t, d); s.kind == entryMark {
			c.numbers[s.labels[0].number] = true
		}
	}
	return true
}

// isWholeKey tells whether a measure holds entries whose numbers rise and a line for
// each of their families.
func (c *cleaner) isWholeKey(holder markup.ID) bool {
	var used, explained [len(familyMarks)]bool
	last := 0
	for d := range named(c.t, holder, markup.NameDirection) {
		switch s := readMark(c.t, d); s.kind {
		case entryMark:
			number, err := strconv.Atoi(s.labels[0].number)
			if err != nil || number <= last {
				return false
			}
			used[s.labels[0].family] = true
			last = number
		case familyMarkLine:
			explained[s.labels[0].family] = true
		}
	}
	return last > 0 && used == explained
}
