package sheet

import (
	"slices"

	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
)

// figures writes those whose onset falls in a stretch. What changes under a note
// has a duration, and so has what comes before it (W3C MusicXML 4.0,
// figured-bass).
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
				e.AddChild(chordlabel.FiguredBass(f.Stack))
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
		figured := chordlabel.FiguredBass(f.Stack)
		e.AddChild(figured)
		number(figured, "duration", until.Sub(f.Onset).Mul(theory.Whole(w.divisions)).Num())
	}
}
