package musicxml

import (
	"strconv"
	"strings"

	"github.com/beevik/etree"

	"partwright/theory"
	"partwright/theory/harmony"
)

type element = etree.Element

// annotation begins an element.
func annotation(name, placement string) *element {
	e := etree.NewElement(name)
	e.CreateAttr("color", labelColor)
	if placement != "" {
		e.CreateAttr("placement", placement)
	}
	return e
}

func addText(parent *element, name, text string) *element {
	child := parent.CreateElement(name)
	child.SetText(text)
	return child
}

func addNumber(parent *element, name string, n int) *element {
	return addText(parent, name, strconv.Itoa(n))
}

// finish adds what a <harmony> ends with: its offset from the note and its staff.
func (w *annotator) finish(e *element, h *hung, at Staff) *element {
	if h.after.Sign() > 0 {
		addText(e, "offset", w.divisions(h.id, h.after))
	}
	if w.doc.Score.Parts[at.Part].Staves > 1 {
		addNumber(e, "staff", at.Number)
	}
	return e
}

// symbol builds a chord symbol, at written pitch.
func (w *annotator) symbol(h *hung, at Staff) *element {
	e := annotation("harmony", "above")
	up := w.toWritten(h.id)
	addClass(e, "root", h.Root().Transpose(up))
	kind := addText(e, "kind", h.Quality().Kind())
	if symbol := h.Quality().Symbol(); symbol != "" {
		kind.CreateAttr("text", symbol)
	}
	if h.Inversion() > 0 {
		addNumber(e, "inversion", h.Inversion())
		addClass(e, "bass", h.Bass().Transpose(up))
	}
	return w.finish(e, h, at)
}

// addClass adds <root> or <bass>, whose children are named after them.
func addClass(parent *element, name string, c theory.PitchClass) {
	e := parent.CreateElement(name)
	addText(e, name+"-step", c.Step.String())
	if c.Alter != 0 {
		addNumber(e, name+"-alter", int(c.Alter))
	}
}

// numeral builds a numeral, as the document's version has it.
func (w *annotator) numeral(h *hung, at Staff) *element {
	e := annotation("harmony", "below")
	if w.figured {
		e.CreateAttr("relative-y", belowFigures)
	}
	text := h.Numeral.Text(h.Key.Mode)
	if !w.numerals {
		if h.newKey {
			text = h.Key.Abbreviation() + ": " + text
		}
		addText(e, "function", text)
		addText(e, "kind", h.Quality().Kind()).CreateAttr("text", "")
		if h.Inversion() > 0 {
			addNumber(e, "inversion", h.Inversion())
		}
		return w.finish(e, h, at)
	}
	own, target, _ := strings.Cut(text, "/")
	name, rest := cutDegree(own)
	if h.newKey {
		name = h.Key.Abbreviation() + ": " + name
	}
	n := h.Numeral
	w.addNumeral(e, name, int(n.Degree), int(n.Alter), h)
	addText(e, "kind", h.Quality().Kind()).CreateAttr("text", rest)
	if n.Inversion > 0 {
		addNumber(e, "inversion", int(n.Inversion))
	}
	if n.IsApplied() {
		w.addNumeral(e, target, int(n.Of.Degree), int(n.Of.Alter), h)
		kind := harmony.MajorTriad
		if n.Of.Mode == theory.MinorMode {
			kind = harmony.MinorTriad
		}
		addText(e, "kind", kind.Kind()).CreateAttr("text", "")
	}
	return w.finish(e, h, at)
}

// belowFigures moves numerals down where figures stand as well, in tenths from where
// a program would put them.
const belowFigures = "-40"

// cutDegree parts a numeral's name from its quality and figures: "#vii" "ø65".
func cutDegree(text string) (name, rest string) {
	for _, special := range []string{"Cad", "Ger", "It", "Fr", "N"} {
		if after, ok := strings.CutPrefix(text, special); ok {
			return special, after
		}
	}
	end := len(text) - len(strings.TrimLeft(text, "#bIViv"))
	return text[:end], text[end:]
}

// addNumeral adds a <numeral>; the text says how it is printed, accidentals and a new
// key too.
func (w *annotator) addNumeral(parent *element, text string, degree, alter int, h *hung) {
	e := parent.CreateElement("numeral")
	addNumber(e, "numeral-root", degree).CreateAttr("text", text)
	if alter != 0 {
		addNumber(e, "numeral-alter", alter).CreateAttr("print-object", "no")
	}
	key := e.CreateElement("numeral-key")
	key.CreateAttr("print-object", "no")
	tonic := h.Key.Tonic.Transpose(w.toWritten(h.id))
	addNumber(key, "numeral-fifths", theory.Key{Tonic: tonic, Mode: h.Key.Mode}.Signature())
	addText(key, "numeral-mode", h.Key.Mode.String())
}

// figures writes the figures of all harmonies, note by note: where they change
// under a note, each has a duration (W3C MusicXML 4.0, figured-bass).
func (w *annotator) figures(under []hung, own *taken, at Staff) {
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

func (w *annotator) figuresOver(note []hung) {
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

// stack returns the figures of a harmony as they are written: in a transposing part
// under its own signature.
func (w *annotator) stack(h *hung) []theory.Figure {
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

// figuredBass builds a stack of figures; an empty one holds a place and is not
// printed. A length of 0 is left out.
func (w *annotator) figuredBass(stack []theory.Figure, h *hung, length theory.Fraction) *element {
	e := annotation("figured-bass", "")
	if len(stack) == 0 {
		e.CreateAttr("print-object", "no")
		e.CreateElement("figure")
	}
	for _, f := range stack {
		figure := e.CreateElement("figure")
		if f.Prefix != "" {
			addText(figure, "prefix", f.Prefix)
		}
		if f.Number > 0 {
			addNumber(figure, "figure-number", f.Number)
		}
	}
	if length.Sign() > 0 {
		addText(e, "duration", w.divisions(h.id, length))
	}
	return e
}
