package musicxml

import (
	"fmt"
	"slices"

	"partwright/musicxml/markup"
	"partwright/theory/partwriting"
)

const (
	numberSize = "9"
	keySize    = "8"
)

// marker writes marks into one document that has none.
type marker struct {
	t *markup.Tree
	// plain leaves colors out.
	plain bool
	// paint holds the family of each note concerned, numbers the items that
	// begin at a note.
	paint   map[markup.ID]paint
	numbers map[markup.ID][]*Mark
	edits   splice
	record  record
	// frames are the directions built so far, inserted where they went.
	frames   map[words]*frame
	inserted []int32
	keyLines []keyLine
	// annotated is where annotations went in.
	annotated []int32
	// wordsFigures tells whether figures may be written as texts, so that the author's own
	// texts of that form have to be known.
	wordsFigures bool
}

// paint is the family of a note, and another where it has two.
type paint struct{ first, second tint }

// tint is a family and how grave it is; the severity is Off where there is none.
type tint struct {
	family   partwriting.Family
	severity partwriting.Severity
}

func newMarker(t *markup.Tree) *marker {
	return &marker{
		t: t, plain: lacksColor(t),
		paint: map[markup.ID]paint{}, numbers: map[markup.ID][]*Mark{}, frames: map[words]*frame{},
		record: record{made: map[string]bool{}, opened: map[string]bool{}},
	}
}

// mark returns the text with marks; places holds the element of every note.
func (mk *marker) mark(d *Document, places []markup.ID, m *Marks) ([]byte, error) {
	if err := check(places, m); err != nil {
		return nil, err
	}
	mk.assign(places, m, mk.planKey(m, places))
	if m.Upgrade {
		mk.plain = false
		mk.upgrade()
	}
	mk.record.plain = mk.plain
	mk.wordsFigures = m.Annotations.figuresAsWords()
	looksOwn := mk.walk()
	if m.IDs {
		mk.identify()
	}
	if m.Heading != "" || len(m.Items) > 0 {
		mk.key(m)
	}
	mk.annotate(d, places, &m.Annotations, m.Upgrade)
	slices.Sort(mk.inserted)
	slices.Sort(mk.annotated)
	mk.noteOwnLabels()
	for _, own := range looksOwn {
		own.at.index += insertedIn(mk.t, mk.inserted, own.holder, own.id)
		mk.record.texts = append(mk.record.texts, own.at)
	}
	mk.writeRecord()
	return mk.edits.apply(mk.t.Text), nil
}

// check refuses items that name notes which the score has not.
func check(places []markup.ID, m *Marks) error {
	for i := range m.Items {
		for _, id := range m.Items[i].Notes {
			if int(id) < 0 || int(id) >= len(places) {
				return fmt.Errorf("mark %d names note %d of a score with %d notes", m.Items[i].Number, id, len(places))
			}
		}
	}
	return nil
}

// assign gives each note the color of its severest item, the first of equals, its
// head that of the severest of another family, and each first note its numbers.
func (mk *marker) assign(places []markup.ID, m *Marks, shown []bool) {
	for i := range m.Items {
		item := &m.Items[i]
		for k, id := range item.Notes {
			note := places[id]
			if k == 0 && shown[i] {
				mk.numbers[note] = append(mk.numbers[note], item)
			}
			p := mk.paint[note]
			mk.paint[note] = p.with(item)
		}
	}
}

// with adds an item.
func (p paint) with(item *Mark) paint {
	switch {
	case p.first.severity == partwriting.Off:
		p.first = tint{item.Family, item.Severity}
	case item.Family == p.first.family:
		p.first.severity = max(p.first.severity, item.Severity)
	case item.Severity > p.first.severity:
		p.first, p.second = tint{item.Family, item.Severity}, p.first
	case item.Severity > p.second.severity:
		p.second = tint{item.Family, item.Severity}
	}
	return p
}

// lookalike is a direction of the author's own that could pass for a mark.
type lookalike struct {
	at         place
	holder, id markup.ID
}

// walk goes through the music once: colors, numbers, and what looks like marks
// but is not.
func (mk *marker) walk() (looksOwn []lookalike) {
	t := mk.t
	eachMeasure(t, func(at place, holder markup.ID) {
		notes, directions := int32(0), int32(0)
		head := markup.None
		var above []*Mark
		for c := t.Elements[holder].First; c != markup.None; c = t.Elements[c].Next {
			t.Work.Step(2)
			switch t.Elements[c].Name {
			case markup.NameNote:
				notes++
				if t.Child(c, markup.NameChord) == markup.None || head == markup.None {
					mk.number(head, above)
					head, above = c, above[:0]
				}
				above = append(above, mk.numbers[c]...)
				mk.color(c, place{at.part, at.measure, notes})
				mk.head(c, place{at.part, at.measure, notes})
			case markup.NameDirection:
				directions++
				if s := readMark(t, c); s.ours(mk.plain) || s.kind == figuresMark && mk.wordsFigures {
					looksOwn = append(looksOwn, lookalike{place{at.part, at.measure, directions}, holder, c})
				}
			}
		}
		mk.number(head, above)
	})
	return looksOwn
}

// color paints a note if it is concerned and writes down what else was there.
func (mk *marker) color(note markup.ID, at place) {
	t := mk.t
	if mk.plain {
		return
	}
	p, concerned := mk.paint[note]
	if e := &t.Elements[note]; !concerned && int(e.OpenEnd-e.Start) == len("<note>") {
		return
	}
	for _, a := range t.AttributesOf(note) {
		if a.Name != markup.NameColor {
			continue
		}
		raw := t.Text[a.ValueStart:a.ValueEnd]
		if concerned {
			mk.record.colors = append(mk.record.colors, oldColor{at, string(raw)})
			mk.edits.replace(a.ValueStart, a.ValueEnd, []byte(ColorOf(p.first.family)))
		} else if isMarkColor(t.Value(a)) {
			mk.record.keep = append(mk.record.keep, at)
		}
		return
	}
	if concerned {
		mk.edits.insert(t.Elements[note].Start+int32(len("<note")), colorAttribute[p.first.family])
	}
}

var colorAttribute = func() (all [len(familyMarks)][]byte) {
	for f := range familyMarks {
		all[f] = []byte(` color="` + familyMarks[f].color + `"`)
	}
	return all
}()

// number writes the numbers of a chord's notes above it, each in the color of its
// family.
func (mk *marker) number(head markup.ID, items []*Mark) {
	if len(items) == 0 {
		return
	}
	slices.SortStableFunc(items, func(a, b *Mark) int { return a.Number - b.Number })
	t := mk.t
	var runs []run
	for i, item := range items {
		text := string(appendLabel(nil, item.number(), item.Family, item.Severity))
		switch last := len(runs) - 1; {
		case i == 0:
			runs = append(runs, run{ColorOf(item.Family), "bold", text})
		case runs[last].color == ColorOf(item.Family) || mk.plain:
			runs[last].text += " " + text
		default:
			runs = append(runs, run{ColorOf(item.Family), "bold", " " + text})
		}
	}
	w := words{
		placement: "above", size: numberSize, colored: !mk.plain, runs: len(runs),
		voice: mk.content(head, markup.NameVoice), staff: mk.content(head, markup.NameStaff),
		in: around(t, head),
	}
	mk.write(t.Elements[head].Start, w, ink{runs: runs})
}

func (mk *marker) content(parent markup.ID, name markup.Name) string {
	if c := mk.t.Child(parent, name); c != markup.None {
		return string(mk.t.Content(c))
	}
	return ""
}

// write inserts a direction in front of what stands at a place.
func (mk *marker) write(at int32, w words, k ink) {
	f := mk.frames[w]
	if f == nil {
		f = w.build()
		mk.frames[w] = f
	}
	mk.edits.insert(at, f.fill(k))
	mk.inserted = append(mk.inserted, at)
}

// insertedIn counts what marking put into a measure up to an element; the places
// where it did must be sorted.
func insertedIn(t *markup.Tree, places []int32, holder, until markup.ID) int32 {
	from, _ := slices.BinarySearch(places, t.Elements[holder].Start)
	to, _ := slices.BinarySearch(places, t.Elements[until].Start+1)
	return int32(to - from)
}
