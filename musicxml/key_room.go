package musicxml

import (
	"math"
	"strconv"

	"partwright/musicxml/markup"
	"partwright/theory/partwriting"
)

// What the first system and the key under it share is one page. Sizes are tenths of
// the distance between two lines of a staff, times four: 40 are the height of a staff.
const (
	// pageHeight and pageWidth are those of A4 where a staff is 7 mm high; a document
	// may declare a smaller page.
	pageHeight, pageWidth = 1650, 1190
	// titleHeight is what stands above the first system, footHeight the lower margin.
	titleHeight, footHeight = 110, 90
	// staffHeight is that of a staff with the space below it, rowHeight that of a row
	// of numbers above it.
	staffHeight, rowHeight = 100, 25
	// lineHeight and charWidth are those of text of 8 points, as programs draw it that
	// draw it largest; beside the lines stand the margins, names of parts and the clef.
	lineHeight, charWidth, besideLines = 22, 11, 300
	// firstMeasures are as many measures as the first system may have.
	firstMeasures = 8
	// Lines have no fewer characters, and a key no fewer lines, however small the page.
	fewestChars, fewestLines = 30, 8
	// longestLine is the longest that the eye follows back.
	longestLine = 80
)

// planKey chooses what the key holds: all items, or the gravest that there is room
// for. It lists the lines and tells which items are shown.
func (mk *marker) planKey(m *Marks, places []markup.ID) (shown []bool) {
	height, width := mk.pageSize()
	chars := max(fewestChars, min(longestLine, (width-besideLines)/charWidth))
	shown = make([]bool, len(m.Items))
	for i := range shown {
		shown[i] = true
	}
	height -= mk.systemHeight()
	if m.Annotations.below() {
		height -= annotationHeight
	}
	lines := m.keyLines(shown, chars)
	if heightOf(lines) > linesIn(height-rowHeight*mk.rows(m, places, shown)) {
		// What is not shown has no number, and the system needs less room then.
		m.showGravest(shown, linesIn(height), chars)
		m.showGravest(shown, linesIn(height-rowHeight*mk.rows(m, places, shown)), chars)
		lines = m.keyLines(shown, chars)
	}
	mk.keyLines = lines
	return shown
}

func linesIn(height int) int { return max(fewestLines, height/lineHeight) }

func heightOf(lines []keyLine) (n int) {
	for i := range lines {
		n += lines[i].height()
	}
	return n
}

// showGravest shows the gravest items that go into so many lines, the first of equals.
func (m *Marks) showGravest(shown []bool, lines, width int) {
	none := make([]bool, len(shown))
	// The heading, the line that says how many are missing, and every family.
	lines -= heightOf(m.keyLines(none, width)) + 1 + len(familyMarks)
	copy(shown, none)
	for s := partwriting.Fault; s > partwriting.Off; s-- {
		for i := range m.Items {
			if m.Items[i].Severity != s {
				continue
			}
			line := m.entry(i, width)
			if lines -= line.height(); lines < 0 {
				return
			}
			shown[i] = true
		}
	}
}

// pageSize is that of A4, or what the document declares if that is less.
func (mk *marker) pageSize() (height, width int) {
	height, width = pageHeight, pageWidth
	layout := mk.child(mk.child(mk.t.Root(), "defaults"), "page-layout")
	for name, size := range map[string]*int{"page-height": &height, "page-width": &width} {
		id := mk.child(layout, name)
		if id == markup.None {
			continue
		}
		if declared, err := strconv.ParseFloat(string(mk.t.Content(id)), 64); err == nil && declared > 0 {
			*size = int(math.Min(float64(*size), declared))
		}
	}
	return height, width
}

// child returns the first child of that name, markup.None where there is none.
func (mk *marker) child(parent markup.ID, name string) markup.ID {
	if parent == markup.None {
		return markup.None
	}
	for c := mk.t.Elements[parent].First; c != markup.None; c = mk.t.Elements[c].Next {
		mk.t.Work.Step(1)
		if mk.t.NameOf(c) == name {
			return c
		}
	}
	return markup.None
}

// systemHeight is what the first system takes without numbers, and what stands above it.
func (mk *marker) systemHeight() int {
	height := titleHeight + footHeight
	eachMeasure(mk.t, func(at place, holder markup.ID) {
		if at.measure == 1 {
			height += staffHeight*stavesIn(mk.t, holder) + verseHeight*verses(mk.t, holder)
		}
	})
	return height
}

// rows counts the rows of numbers that may stand above the staves of the first system:
// for each staff the most chords with numbers in a measure.
func (mk *marker) rows(m *Marks, places []markup.ID, shown []bool) (rows int) {
	measures := map[markup.ID]place{}
	eachMeasure(mk.t, func(at place, holder markup.ID) {
		if at.measure <= firstMeasures {
			measures[holder] = at
		}
	})
	type staff struct {
		part int32
		name string
	}
	numbered := map[markup.ID]bool{}
	stacks := map[place]map[string]int{}
	for i := range m.Items {
		if !shown[i] || len(m.Items[i].Notes) == 0 {
			continue
		}
		note := places[m.Items[i].Notes[0]]
		at, early := measures[mk.t.Elements[note].Parent]
		if !early || numbered[note] {
			continue
		}
		numbered[note] = true
		if stacks[at] == nil {
			stacks[at] = map[string]int{}
		}
		stacks[at][mk.content(note, markup.NameStaff)]++
	}
	most := map[staff]int{}
	for at, staves := range stacks {
		for name, n := range staves {
			s := staff{at.part, name}
			most[s] = max(most[s], n)
		}
	}
	for _, n := range most {
		rows += n
	}
	return rows
}
