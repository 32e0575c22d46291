package sheet

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/beevik/etree"

	"partwright/theory"
)

// Write returns the sheet as a MusicXML 4.0 document. It fails for a sheet
// without measures or staves, and for durations that only tuplets could write.
func Write(s *Sheet) ([]byte, error) {
	if err := s.validate(); err != nil {
		return nil, err
	}
	s.holdLeast()
	doc := etree.NewDocument()
	doc.CreateProcInst("xml", `version="1.0" encoding="UTF-8"`)
	doc.CreateDirective(`DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd"`)
	root := doc.CreateElement("score-partwise")
	root.CreateAttr("version", "4.0")
	switch { // some programs show one of the two, some both
	case s.Subtitle != "":
		root.CreateElement("movement-title").SetText(s.Subtitle)
	case s.Title != "":
		root.CreateElement("work").CreateElement("work-title").SetText(s.Title)
	}
	list := root.CreateElement("part-list")
	for first := 0; first < len(s.Staves); {
		end := first + 1
		for end < len(s.Staves) && s.Staves[end].Texture == s.Staves[first].Texture {
			end++
		}
		group(list, "start", s.Staves[first:end])
		for i := first; i < end; i++ {
			part := list.CreateElement("score-part")
			part.CreateAttr("id", partID(i))
			name := s.Staves[i].Name
			part.CreateElement("part-name").SetText(name)
			if lines := strings.ReplaceAll(name, ", ", ",\n"); lines != name {
				// In one line it begins off the page (LilyPond 2.24 by its musicxml2ly).
				part.CreateElement("part-name-display").CreateElement("display-text").SetText(lines)
			}
		}
		group(list, "stop", s.Staves[first:end])
		first = end
	}
	textures := []*theory.Texture{s.Texture}
	for i := range s.Staves {
		textures = append(textures, s.texture(&s.Staves[i]))
	}
	unit := divisions(textures...)
	staves := s.labelsAtGiven()
	for i := range staves {
		w := &staffWriter{sheet: s, staff: &staves[i], index: i, divisions: unit, work: s.Work}
		w.above, w.below = inOrder(s.Staves[i].Above), inOrder(s.Staves[i].Below)
		if err := w.write(root); err != nil {
			return nil, fmt.Errorf("staff %d: %w", i+1, err)
		}
	}
	doc.Indent(2)
	var out bytes.Buffer
	if _, err := doc.WriteTo(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// holdLeast asks whether the note heads that there will be at least may be held: a few
// notes of many measures each are to be refused before half of their heads are written.
func (s *Sheet) holdLeast() {
	longest, heads := values[0].duration.Num()/values[0].duration.Den(), 0
	for i := range s.Staves {
		of := s.texture(&s.Staves[i])
		if s.Staves[i].Blank || len(of.Score.Measures) == 0 {
			continue
		}
		last := of.Score.Measures[len(of.Score.Measures)-1]
		end := last.Onset.Add(last.Length)
		for _, v := range s.Staves[i].Voices {
			for _, n := range of.Voices[v].Notes {
				lasts := n.Duration
				if end.Less(n.End()) {
					lasts = end.Sub(n.Onset) // the rest is not written
				}
				heads += max(int(lasts.Num()/lasts.Den()/longest), 1)
			}
		}
	}
	defer s.Work.Scope()()
	s.Work.Hold(heads * bytesPerHead)
}

// group joins the staves of one music, so that versions one above the other stand apart and
// no barline runs through what is said between them: two hands by a brace, voices by a
// bracket.
func group(list *etree.Element, kind string, staves []Staff) {
	symbol := "bracket"
	if len(staves) == 2 && staves[0].AsChords {
		symbol = "brace"
	}
	g := list.CreateElement("part-group")
	g.CreateAttr("type", kind)
	g.CreateAttr("number", "1")
	if kind == "start" {
		g.CreateElement("group-symbol").SetText(symbol)
		g.CreateElement("group-barline").SetText("yes")
	}
}

func partID(staff int) string { return "P" + strconv.Itoa(staff+1) }

// staffWriter writes one staff.
type staffWriter struct {
	sheet     *Sheet
	staff     *Staff
	index     int
	divisions int64
	// alters holds the accidentals in force in the measure, by letter and octave.
	alters map[[2]int8]int8
	// beams are those of the layer that is being written, by onset.
	beams map[theory.Fraction][]string
	// triplets are where those of that layer start and stop.
	triplets map[theory.Fraction]string
	key      theory.KeySignature
	time     theory.TimeSignature
	// above and below are the staff's labels in order of onset.
	above, below []Label
	// sung tells whether the numerals are lyrics of the lowest layer.
	sung bool
	work *theory.Work
	// measureNow is the measure that is being written.
	measureNow *theory.Measure
	// at and notes count the measures of the part and the notes of the measure, from 1.
	at, notes int
}

// bytesPerHead is what an element for one note head takes with its children, and once
// more as text: 4,486 MB for a million of them, measured.
const bytesPerHead = 4500

// headWritten tells the budget of one note head or rest.
func (w *staffWriter) headWritten() {
	w.work.Step(16)
	w.work.Hold(bytesPerHead)
}

// note begins a note, of the texture unless of is nil.
func (w *staffWriter) note(parent *etree.Element, of *source) *etree.Element {
	w.headWritten()
	n := parent.CreateElement("note")
	w.notes++
	if w.sheet.IDs != nil {
		id := fmt.Sprintf("pw-n%d-%d-%d", w.index+1, w.at, w.notes)
		n.CreateAttr("id", id)
		if of != nil && w.staff.Texture == nil {
			w.sheet.IDs.add(*of, id)
		}
	}
	return n
}

func (w *staffWriter) write(root *etree.Element) error {
	part := root.CreateElement("part")
	part.CreateAttr("id", partID(w.index))
	measures := w.sheet.Texture.Score.Measures
	w.sung = len(w.staff.Numerals) > 0 && !w.sings() && w.canSing()
	for i := range measures {
		m := &measures[i]
		e := part.CreateElement("measure")
		e.CreateAttr("number", m.Label)
		if w.at, w.notes = i+1, 0; w.sheet.IDs != nil {
			e.CreateAttr("id", fmt.Sprintf("pw-m%d-%d", w.index+1, w.at))
		}
		if m.Implicit {
			e.CreateAttr("implicit", "yes")
		}
		w.attributes(e, m, i == 0)
		if err := w.measure(e, m); err != nil {
			return fmt.Errorf("measure %s: %w", m.Label, err)
		}
		switch {
		case i == len(measures)-1:
			barline(e, "light-heavy")
		case m.PhraseBar:
			barline(e, "light-light")
		}
	}
	return nil
}

// barline closes a measure with another line than the usual one.
func barline(measure *etree.Element, style string) {
	line := measure.CreateElement("barline")
	line.CreateAttr("location", "right")
	line.CreateElement("bar-style").SetText(style)
}

func (w *staffWriter) attributes(e *etree.Element, m *theory.Measure, first bool) {
	if !first && m.Key == w.key && m.Time == w.time {
		return
	}
	a := e.CreateElement("attributes")
	if first {
		number(a, "divisions", w.divisions)
	}
	if first || m.Key != w.key {
		k := a.CreateElement("key")
		number(k, "fifths", int64(m.Key.Fifths))
		switch m.Key.Mode {
		case theory.StatedMajor:
			k.CreateElement("mode").SetText("major")
		case theory.StatedMinor:
			k.CreateElement("mode").SetText("minor")
		}
	}
	if first || m.Time != w.time {
		t := a.CreateElement("time")
		if m.Time.IsSenzaMisura() {
			t.CreateElement("senza-misura")
		} else {
			number(t, "beats", int64(m.Time.Beats))
			number(t, "beat-type", int64(m.Time.BeatType))
		}
	}
	w.key, w.time = m.Key, m.Time
	if !first {
		return
	}
	c := a.CreateElement("clef")
	c.CreateElement("sign").SetText(map[Clef]string{Treble: "G", TenorTreble: "G", Bass: "F"}[w.staff.Clef])
	c.CreateElement("line").SetText(map[Clef]string{Treble: "2", TenorTreble: "2", Bass: "4"}[w.staff.Clef])
	if w.staff.Clef == TenorTreble {
		c.CreateElement("clef-octave-change").SetText("-1")
	}
}

func number(parent *etree.Element, name string, n int64) {
	parent.CreateElement(name).SetText(strconv.FormatInt(n, 10))
}

// layers are those of one measure, from the top.
func (w *staffWriter) layers(m *theory.Measure) [][]event {
	var layers [][]event
	for _, v := range w.staff.Voices {
		layers = append(layers, layer(w.work, w.sheet.texture(w.staff), v, m))
	}
	if w.staff.Blank {
		layers = [][]event{{{onset: m.Onset, duration: m.Length, wholeOfBar: true}}}
	}
	switch {
	case w.staff.AsChords:
		layers = fewest(layers)
	case len(layers) > 2: // two directions of stems tell the top voice from the others
		layers = append(layers[:1:1], fewest(layers[1:])...)
	}
	return layers
}

// measure writes the layers of one measure.
func (w *staffWriter) measure(e *etree.Element, m *theory.Measure) error {
	w.alters, w.measureNow = map[[2]int8]int8{}, m
	layers := w.layers(m)
	for i, l := range layers {
		if i > 0 {
			number(e.CreateElement("backup"), "duration", m.Length.Mul(theory.Whole(w.divisions)).Num())
		}
		w.beams, w.triplets = beams(w.work, l, m), triplets(w.work, l, m)
		for k := range l {
			if i == 0 {
				w.labels(e, l[k].onset, l[k].onset.Add(l[k].duration))
			}
			if err := w.event(e, &l[k], i, len(layers)); err != nil {
				return err
			}
		}
	}
	return nil
}

// labels writes the texts whose onset falls in a stretch, each with its offset
// from the start of the stretch.
func (w *staffWriter) labels(e *etree.Element, from, to theory.Fraction) {
	if w.index == 0 {
		w.tempos(e, from, to)
	}
	w.chords(e, from, to)
	w.texts(e, w.above, "above", from, to)
	w.texts(e, w.below, "below", from, to)
	if w.index == 0 {
		w.texts(e, w.sheet.Above, "above", from, to)
	}
	if w.index == len(w.sheet.Staves)-1 {
		w.texts(e, w.sheet.Below, "below", from, to)
		w.figures(e, from, to)
	}
}

// texts writes labels whose onset falls in a stretch, each line a direction of its own: some
// programs set the lines of one text side by side (LilyPond 2.24 by its musicxml2ly).
func (w *staffWriter) texts(e *etree.Element, labels []Label, placement string, from, to theory.Fraction) {
	first, end := stretch(labels, func(l *Label) theory.Fraction { return l.Onset }, from, to)
	for _, l := range labels[first:end] {
		lines := strings.Split(l.Text, "\n")
		if placement == "above" {
			slices.Reverse(lines) // the first that is written stands next to the staff
		}
		for _, line := range lines {
			w.words(e, line, placement, l.Onset.Sub(from))
		}
	}
}

// words writes a text, so long after the beginning of the stretch.
func (w *staffWriter) words(e *etree.Element, text, placement string, after theory.Fraction) *etree.Element {
	w.headWritten()
	d := e.CreateElement("direction")
	d.CreateAttr("placement", placement)
	words := d.CreateElement("direction-type").CreateElement("words")
	words.CreateAttr("font-size", "9")
	words.SetText(text)
	if after.Sign() > 0 {
		number(d, "offset", after.Mul(theory.Whole(w.divisions)).Num())
	}
	return words
}

// stretch is where what begins from one moment on and before another stands in what is in
// order of onset.
func stretch[T any](all []T, onset func(*T) theory.Fraction, from, to theory.Fraction) (first, end int) {
	first = sort.Search(len(all), func(i int) bool { return !onset(&all[i]).Less(from) })
	end = first
	for end < len(all) && onset(&all[end]).Less(to) {
		end++
	}
	return first, end
}

// inOrder is labels in order of onset, those of one onset as they were.
func inOrder(labels []Label) []Label {
	sorted := slices.Clone(labels)
	slices.SortStableFunc(sorted, func(a, b Label) int { return a.Onset.Cmp(b.Onset) })
	return sorted
}
