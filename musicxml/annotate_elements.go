package musicxml

import (
	"strconv"

	"github.com/beevik/etree"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
	"partwright/theory/harmony"
)

type element = etree.Element

// colored gives an element the color of annotations, by which it is known again.
func colored(e *element, placement string) *element {
	e.CreateAttr("color", labelColor)
	if placement != "" {
		e.CreateAttr("placement", placement)
	}
	return e
}

// finish adds what a <harmony> ends with: its offset from the note and its staff.
func (w *annotator) finish(e *element, h *anchored, at Staff) *element {
	if h.after.Sign() > 0 {
		chordlabel.AddText(e, "offset", w.divisions(h.id, h.after))
	}
	if w.doc.Score.Parts[at.Part].Staves > 1 {
		chordlabel.AddNumber(e, "staff", at.Number)
	}
	return e
}

// symbol builds a chord symbol, at written pitch.
func (w *annotator) symbol(h *anchored, at Staff) *element {
	return w.finish(colored(chordlabel.Symbol(h.Reading, w.toWritten(h.id)), "above"), h, at)
}

// numeral builds a numeral, as the document's version has it.
func (w *annotator) numeral(h *anchored, at Staff) *element {
	e := chordlabel.Function(h.Reading, h.newKey)
	if w.numerals {
		e = chordlabel.Numeral(h.Reading, h.newKey, w.toWritten(h.id))
	}
	colored(e, "below")
	if w.figured {
		e.CreateAttr("relative-y", chordlabel.BelowFigures)
	}
	return w.finish(e, h, at)
}

// figures writes the figures of all harmonies, note by note: where they change
// under a note, each has a duration (W3C MusicXML 4.0, figured-bass).
func (w *annotator) figures(under []anchored, own *taken, at Staff) {
	for first := 0; first < len(under); {
		end := first + 1
		for end < len(under) && under[end].id == under[first].id {
			end++
		}
		if !own.figured(at.Part, &under[first].anchor) {
			w.figuresOver(under[first:end])
		}
		first = end
	}
}

func (w *annotator) figuresOver(note []anchored) {
	stacks := make([][]theory.Figure, len(note))
	last := -1
	for i := range note {
		stacks[i] = w.stack(&note[i])
		if len(stacks[i]) == 0 && note[i].after.Sign() > 0 {
			stacks[i] = []theory.Figure{{Number: 5}} // to say that the figures before are over
		}
		if len(stacks[i]) > 0 {
			last = i
		}
	}
	if last < 0 {
		return
	}
	if w.worded {
		for i := range note[:last+1] {
			if len(stacks[i]) > 0 {
				w.figureWords(stacks[i], &note[i])
			}
		}
		return
	}
	var at theory.Fraction
	for i := 0; i <= last; i++ {
		if at.Less(note[i].after) {
			w.insert(note[i].id, w.figuredBass(nil, &note[i], note[i].after.Sub(at)))
			at = note[i].after
		}
		var length theory.Fraction
		if i < last {
			length = note[i+1].after.Sub(at)
			at = note[i+1].after
		}
		if len(stacks[i]) > 0 || length.Sign() > 0 {
			w.insert(note[i].id, w.figuredBass(stacks[i], &note[i], length))
		}
	}
}

// figureWords writes figures as a text. Engravers set <figured-bass> and <harmony> of one
// staff in one row, over one another whatever their placement (seen in Verovio 6.3): beside
// numerals the figures are texts, which keep clear of everything by themselves.
func (w *annotator) figureWords(stack []theory.Figure, h *anchored) {
	w.record.worded = true
	note := w.places[h.id]
	frame := words{placement: "below", size: numberSize, colored: true, in: around(w.t, note), runs: 1}
	if h.after.Sign() > 0 {
		frame.offset = w.divisions(h.id, h.after)
	}
	if w.doc.Score.Parts[w.bass.Part].Staves > 1 {
		frame.staff = strconv.Itoa(w.bass.Number)
	}
	w.write(w.t.Elements[note].Start, frame, ink{runs: []run{{labelColor, "normal", chordlabel.FiguresText(stack)}}})
}

// stack returns the figures of a harmony as they are written: in a transposing part
// under its own signature.
func (w *annotator) stack(h *anchored) []theory.Figure {
	up := w.toWritten(h.id)
	signature := w.doc.Score.Measures[h.measure].Key
	signature.Fifths = int8(theory.MajorKey(theory.PitchClassAtFifths(int(signature.Fifths)).Transpose(up)).Signature())
	chord := harmony.Chord{Root: h.Root().Transpose(up), Quality: h.Quality(), Inversion: h.Inversion()}
	figures, _ := chord.DelayedFigures(signature, transposed(h.delayed, up), transposed(h.come, up))
	return figures
}

// transposed brings delays to written pitch.
func transposed(delays []harmony.Delay, up theory.Interval) []harmony.Delay {
	out := append([]harmony.Delay(nil), delays...)
	for i := range out {
		out[i].Class = out[i].Class.Transpose(up)
	}
	return out
}

// figuredBass builds a stack of figures; a length of 0 is left out.
func (w *annotator) figuredBass(stack []theory.Figure, h *anchored, length theory.Fraction) *element {
	e := colored(chordlabel.FiguredBass(stack), "")
	if length.Sign() > 0 {
		chordlabel.AddText(e, "duration", w.divisions(h.id, length))
	}
	return e
}
