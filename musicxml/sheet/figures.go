package sheet

import (
	"slices"

	"github.com/beevik/etree"

	"partwright/theory"
)

// figures writes those whose onset falls in a stretch. What changes under a note
// has a duration, and so has what comes before it (W3C MusicXML 4.0,
// figured-bass).
func (w *staffWriter) figures(e *etree.Element, from, to theory.Fraction) {
	var under []Figures
	for _, f := range w.sheet.Figures {
		if !f.Onset.Less(from) && f.Onset.Less(to) {
			under = append(under, f)
		}
	}
	if len(under) > 0 && under[0].Onset != from {
		under = slices.Insert(under, 0, Figures{Onset: from})
	}
	for i, f := range under {
		if len(under) == 1 {
			if len(f.Stack) > 0 {
				stack(e, f.Stack)
			}
			return
		}
		if i > 0 && len(f.Stack) == 0 {
			f.Stack = []theory.Figure{{Number: 5}} // to say that the figures before are over
		}
		until := to
		if i+1 < len(under) {
			until = under[i+1].Onset
		}
		number(stack(e, f.Stack), "duration", until.Sub(f.Onset).Mul(theory.Whole(w.divisions)).Num())
	}
}

// stack writes figures, from the top; an empty one holds a place and is not
// printed.
func stack(parent *etree.Element, figures []theory.Figure) *etree.Element {
	e := parent.CreateElement("figured-bass")
	if len(figures) == 0 {
		e.CreateAttr("print-object", "no")
		e.CreateElement("figure")
	}
	for _, f := range figures {
		figure := e.CreateElement("figure")
		if f.Prefix != "" {
			figure.CreateElement("prefix").SetText(f.Prefix)
		}
		if f.Number > 0 {
			number(figure, "figure-number", int64(f.Number))
		}
	}
	return e
}
