package sheet

import (
	"slices"

	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
)

// besideNumerals is where figures stand as texts, in tenths from the top line of the
// staff; what has one such place an engraver sets in one row.
const besideNumerals = "-75"

// figures writes those whose onset falls in a stretch. What changes under a note
// has a duration, and so has what comes before it (W3C MusicXML 4.0,
// figured-bass). Where numerals that are no lyrics stand under the same staff, engravers print
// figures and numerals over one another: then the figures are printed as texts, and the
// elements that mean them are not printed.
func (w *staffWriter) figures(e *etree.Element, from, to theory.Fraction) {
	first, end := stretch(w.sheet.Figures, func(f *Figures) theory.Fraction { return f.Onset }, from, to)
	under := w.sheet.Figures[first:end:end]
	if len(under) > 0 && under[0].Onset != from {
		under = slices.Insert(under, 0, Figures{Onset: from})
	}
	for i, f := range under {
		w.headWritten()
		if len(under) == 1 {
			if len(f.Stack) > 0 {
				w.figured(e, f.Stack, theory.Fraction{})
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
		figured := w.figured(e, f.Stack, f.Onset.Sub(from))
		number(figured, "duration", until.Sub(f.Onset).Mul(theory.Whole(w.divisions)).Num())
	}
}

// figured writes one stack of figures, so long after the beginning of the stretch.
func (w *staffWriter) figured(e *etree.Element, stack []theory.Figure, after theory.Fraction) *etree.Element {
	figured := chordlabel.FiguredBass(stack)
	if len(stack) > 0 && len(w.staff.Numerals) > 0 && !w.sung {
		figured.CreateAttr("print-object", "no")
		words := w.words(e, chordlabel.FiguresText(stack), "below", after)
		words.CreateAttr("default-y", besideNumerals)
		words.CreateAttr("font-style", "normal")
	}
	e.AddChild(figured)
	return figured
}
