package sheet

import (
	"sort"

	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
	"partwright/theory/harmony"
)

// chords names the chords whose onset falls in a stretch: symbols over the staff,
// numerals under it, and over the top staff where none sounds.
func (w *staffWriter) chords(e *etree.Element, from, to theory.Fraction) {
	if w.index == 0 {
		w.noChords(e, from, to)
	}
	onset := func(h *harmony.Harmony) theory.Fraction { return h.Onset }
	first, end := stretch(w.staff.Symbols, onset, from, to)
	for i := first; i < end; i++ {
		h := &w.staff.Symbols[i]
		w.chord(e, chordlabel.Symbol(h.Reading, theory.Interval{}), "above", h.Onset.Sub(from))
	}
	if w.sung {
		return
	}
	first, end = stretch(w.staff.Numerals, onset, from, to)
	for i := first; i < end; i++ {
		numeral := w.numeral(i)
		if len(w.sheet.Figures) > 0 && w.index == len(w.sheet.Staves)-1 {
			numeral.CreateAttr("relative-y", chordlabel.BelowFigures)
		}
		w.chord(e, numeral, "below", w.staff.Numerals[i].Onset.Sub(from))
	}
}

// numeral is the element of one of the staff's numerals.
func (w *staffWriter) numeral(i int) *etree.Element {
	all := w.staff.Numerals
	return chordlabel.Numeral(all[i].Reading, i == 0 || all[i-1].Key != all[i].Key, theory.Interval{})
}

// sungAt writes the element of the numeral at a moment, which prints nothing, and returns the
// lyric that does, nil where no numeral begins.
//
// Numerals are printed as lyrics of the lowest voice. No other form is printed by all
// engravers, and once: LilyPond 2.24 by its musicxml2ly skips numerals, and prints hidden
// figures; Verovio 6.3 prints hidden numerals, sets numerals and figures over one another, and
// gives texts no room beside one another. Lyrics stand in a row of their own below the figures
// and keep their neighbors apart.
func (w *staffWriter) sungAt(parent *etree.Element, at theory.Fraction) *etree.Element {
	i := sort.Search(len(w.staff.Numerals), func(i int) bool { return !w.staff.Numerals[i].Onset.Less(at) })
	if i == len(w.staff.Numerals) || w.staff.Numerals[i].Onset != at {
		return nil
	}
	numeral := w.numeral(i)
	text := chordlabel.Silence(numeral)
	w.chord(parent, numeral, "below", theory.Fraction{})
	return chordlabel.Sung(text)
}

// canSing tells whether each numeral of the staff begins with a note of its lowest layer, so
// that all of them can be lyrics.
func (w *staffWriter) canSing() bool {
	next := 0
	for i := range w.sheet.Texture.Score.Measures {
		m := &w.sheet.Texture.Score.Measures[i]
		layers := w.layers(m)
		for _, e := range layers[len(layers)-1] {
			parts, err := e.values(w.work, m)
			if err != nil {
				return false // writing says so
			}
			at := e.onset
			for _, v := range parts {
				if next < len(w.staff.Numerals) && w.staff.Numerals[next].Onset == at && len(e.pitches) > 0 {
					next++
				}
				at = at.Add(v.duration)
			}
		}
	}
	return next == len(w.staff.Numerals)
}

// noChords writes the labels of the music which say that no chord sounds.
func (w *staffWriter) noChords(e *etree.Element, from, to theory.Fraction) {
	all := w.sheet.Texture.Score.Chords
	first, end := stretch(all, func(c *theory.GivenChord) theory.Fraction { return c.Onset }, from, to)
	for i := first; i < end; i++ {
		if all[i].Kind == theory.NoChordKind {
			w.chord(e, chordlabel.None(), "above", all[i].Onset.Sub(from))
		}
	}
}

func (w *staffWriter) chord(parent, label *etree.Element, placement string, offset theory.Fraction) {
	w.headWritten()
	label.CreateAttr("placement", placement)
	if offset.Sign() > 0 {
		number(label, "offset", offset.Mul(theory.Whole(w.divisions)).Num())
	}
	parent.AddChild(label)
}
