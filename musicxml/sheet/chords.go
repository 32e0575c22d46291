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
	for i := range w.staff.Symbols {
		if h := &w.staff.Symbols[i]; begins(h, from, to) {
			w.chord(e, chordlabel.Symbol(h.Reading, theory.Interval{}), "above", h.Onset.Sub(from))
		}
	}
	all := w.staff.Numerals
	for i := range all {
		h := &all[i]
		if !begins(h, from, to) {
			continue
		}
		numeral := chordlabel.Numeral(h.Reading, i == 0 || all[i-1].Key != h.Key, theory.Interval{})
		if len(w.sheet.Figures) > 0 && w.index == len(w.sheet.Staves)-1 {
			numeral.CreateAttr("relative-y", chordlabel.BelowFigures)
		}
		w.chord(e, numeral, "below", h.Onset.Sub(from))
	}
}

func begins(h *harmony.Harmony, from, to theory.Fraction) bool {
	return !h.Onset.Less(from) && h.Onset.Less(to)
}

func (w *staffWriter) chord(parent, label *etree.Element, placement string, offset theory.Fraction) {
	label.CreateAttr("placement", placement)
	if offset.Sign() > 0 {
		number(label, "offset", offset.Mul(theory.Whole(w.divisions)).Num())
	}
	parent.AddChild(label)
}
