// Package chordlabel builds the elements that name chords in MusicXML 4.0: numerals and
// chord symbols as <harmony>, figures as <figured-bass>. Scores that are marked and
// sheets that are written anew have the same ones.
//
// Where an element stands, and its color, placement, offset and duration, is the
// business of whoever inserts it.
package chordlabel

import (
	"strconv"
	"strings"

	"github.com/beevik/etree"

	"partwright/theory"
	"partwright/theory/harmony"
)

// BelowFigures moves numerals down where figures stand as well, in tenths from where
// a program would put them.
const BelowFigures = "-40"

// AddText adds a child with a text.
func AddText(parent *etree.Element, name, text string) *etree.Element {
	child := parent.CreateElement(name)
	child.SetText(text)
	return child
}

// AddNumber adds a child with a whole number.
func AddNumber(parent *etree.Element, name string, n int) *etree.Element {
	return AddText(parent, name, strconv.Itoa(n))
}

// Symbol is a chord symbol; up leads from sounding to written pitch.
func Symbol(r harmony.Reading, up theory.Interval) *etree.Element {
	e := etree.NewElement("harmony")
	addClass(e, "root", r.Root().Transpose(up))
	kind := AddText(e, "kind", r.Quality().Kind())
	if symbol := r.Quality().Symbol(); symbol != "" {
		kind.CreateAttr("text", symbol)
	}
	if r.Inversion() > 0 {
		AddNumber(e, "inversion", r.Inversion())
		addClass(e, "bass", r.Bass().Transpose(up))
	}
	return e
}

// addClass adds <root> or <bass>, whose children are named after them.
func addClass(parent *etree.Element, name string, c theory.PitchClass) {
	e := parent.CreateElement(name)
	AddText(e, name+"-step", c.Step.String())
	if c.Alter != 0 {
		AddNumber(e, name+"-alter", int(c.Alter))
	}
}

// Function is a numeral as versions before 4.0 have it: a text. It begins with the
// key where that is new.
func Function(r harmony.Reading, newKey bool) *etree.Element {
	e := etree.NewElement("harmony")
	text := r.Numeral.Text(r.Key.Mode)
	if newKey {
		text = r.Key.Abbreviation() + ": " + text
	}
	AddText(e, "function", text)
	AddText(e, "kind", r.Quality().Kind()).CreateAttr("text", "")
	if r.Inversion() > 0 {
		AddNumber(e, "inversion", r.Inversion())
	}
	return e
}

// Numeral is a numeral, with its key in front where that is new; up leads from
// sounding to written pitch.
func Numeral(r harmony.Reading, newKey bool, up theory.Interval) *etree.Element {
	e := etree.NewElement("harmony")
	// Programs print the first chord of a <harmony> and leave out what it is applied
	// to: the text of the first says both, that of the second nothing.
	name, rest := cutDegree(r.Numeral.Text(r.Key.Mode))
	if newKey {
		name = r.Key.Abbreviation() + ": " + name
	}
	n := r.Numeral
	key := theory.Key{Tonic: r.Key.Tonic.Transpose(up), Mode: r.Key.Mode}
	addNumeral(e, name, int(n.Degree), int(n.Alter), key)
	AddText(e, "kind", r.Quality().Kind()).CreateAttr("text", rest)
	if n.Inversion > 0 {
		AddNumber(e, "inversion", int(n.Inversion))
	}
	if n.IsApplied() {
		addNumeral(e, "", int(n.Of.Degree), int(n.Of.Alter), key)
		kind := harmony.MajorTriad
		if n.Of.Mode == theory.MinorMode {
			kind = harmony.MinorTriad
		}
		AddText(e, "kind", kind.Kind()).CreateAttr("text", "")
	}
	return e
}

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
func addNumeral(parent *etree.Element, text string, degree, alter int, written theory.Key) {
	e := parent.CreateElement("numeral")
	AddNumber(e, "numeral-root", degree).CreateAttr("text", text)
	if alter != 0 {
		AddNumber(e, "numeral-alter", alter).CreateAttr("print-object", "no")
	}
	key := e.CreateElement("numeral-key")
	key.CreateAttr("print-object", "no")
	AddNumber(key, "numeral-fifths", written.Signature())
	AddText(key, "numeral-mode", written.Mode.String())
}

// FiguredBass is a stack of figures, from the top; an empty one holds a place and
// is not printed.
func FiguredBass(stack []theory.Figure) *etree.Element {
	e := etree.NewElement("figured-bass")
	if len(stack) == 0 {
		e.CreateAttr("print-object", "no")
		e.CreateElement("figure")
	}
	for _, f := range stack {
		figure := e.CreateElement("figure")
		if f.Prefix != "" {
			AddText(figure, "prefix", f.Prefix)
		}
		if f.Number > 0 {
			AddNumber(figure, "figure-number", f.Number)
		}
	}
	return e
}
