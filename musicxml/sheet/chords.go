package sheet

import (
	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
	"partwright/theory/harmony"
)

// chords names the chords whose onset falls in a stretch: symbols over the staff,
// numerals under it.
func (w *staffWriter) chords(e *etree.Element, from, to theory.Fraction) {
	onset := func(h *harmony.Harmony) theory.Fraction { return h.Onset }
	first, end := stretch(w.staff.Symbols, onset, from, to)
	for i := first; i < end; i++ {
		h := &w.staff.Symbols[i]
		w.chord(e, chordlabel.Symbol(h.Reading, theory.Interval{}), "above", h.Onset.Sub(from))
	}
	all := w.staff.Numerals
	first, end = stretch(all, onset, from, to)
	for i := first; i < end; i++ {
		h := &all[i]
		numeral := chordlabel.Numeral(h.Reading, i == 0 || all[i-1].Key != h.Key, theory.Interval{})
		if len(w.sheet.Figures) > 0 && w.index == len(w.sheet.Staves)-1 {
			numeral.CreateAttr("relative-y", chordlabel.BelowFigures)
		}
		w.chord(e, numeral, "below", h.Onset.Sub(from))
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
