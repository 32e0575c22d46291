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
	if symbol := r.Quality().KindSymbol(); symbol != "" {
		kind.CreateAttr("text", symbol)
	}
	if r.Inversion() > 0 {
		AddNumber(e, "inversion", r.Inversion())
		addClass(e, "bass", r.Bass().Transpose(up))
	}
	for _, d := range r.Quality().Degrees() {
		degree := e.CreateElement("degree") // printed, since engravers do so whatever they are told
		AddNumber(degree, "degree-value", d.Value)
		AddNumber(degree, "degree-alter", d.Alter)
		AddText(degree, "degree-type", d.Type)
	}
	return e
}

// None is the symbol that says that no chord sounds; MusicXML wants a root, which no program
// prints beside it.
func None() *etree.Element {
	e := etree.NewElement("harmony")
	addClass(e, "root", theory.PitchClass{Step: theory.C})
	AddText(e, "kind", theory.NoChordKind).CreateAttr("text", theory.NoChordText)
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
	n := r.Numeral
	key := theory.Key{Tonic: r.Key.Tonic.Transpose(up), Mode: r.Key.Mode}
	first := numeral{degree: int(n.Degree), alter: int(n.Alter), key: key}
	kind := n.Quality.Kind()
	switch {
	case n.Quality.IsAugmentedSixth():
		first.alter = 0 // the kind says which notes are altered
	case n.IsNeapolitan(key.Mode):
		first.alter, kind = 0, "Neapolitan"
	case n.IsApplied() && n.Degree == 7 && n.IsDominant():
		first.alter = 0 // the leading tone, whatever the scale of the target has
	case first.raised() == "":
		// Programs print the accidental between the texts, whether they are told to or not.
		if bare := strings.TrimLeft(name, "#b"); bare != name {
			name, rest, first.shows = "", bare+rest, true
		}
	}
	if newKey {
		name = r.Key.Abbreviation() + ": " + name
	}
	first.text = name
	first.addTo(e)
	AddText(e, "kind", kind).CreateAttr("text", rest)
	if n.Inversion > 0 {
		AddNumber(e, "inversion", int(n.Inversion))
	}
	if n.IsApplied() {
		numeral{degree: int(n.Of.Degree), alter: int(n.Of.Alter), key: key}.addTo(e)
		kind := harmony.MajorTriad
		if n.Of.Mode == theory.MinorMode {
			kind = harmony.MinorTriad
		}
		AddText(e, "kind", kind.Kind()).CreateAttr("text", "")
	}
	return e
}

// SungName is the name of lyrics that are numerals (W3C MusicXML 4.0, lyric: name is the kind
// of lyric), by which they are told from what is sung.
const SungName = "numerals"

// Silence takes the texts out of a numeral that [Numeral] has made and hides it, and returns
// what it would print: its element then says what the chord is, and the text stands elsewhere.
func Silence(numeral *etree.Element) (text string) {
	for _, child := range numeral.ChildElements() {
		texts := child
		if child.Tag == "numeral" {
			texts = child.SelectElement("numeral-root")
		}
		text += texts.SelectAttrValue("text", "")
		texts.CreateAttr("text", "")
		if alter := child.SelectElement("numeral-alter"); alter != nil && alter.SelectAttrValue("print-object", "") != "no" {
			text += map[string]string{"1": "#", "-1": "b"}[alter.Text()]
			alter.CreateAttr("print-object", "no")
		}
	}
	numeral.CreateAttr("print-object", "no")
	return text
}

// Sung is a numeral as a lyric, which goes last into its note.
func Sung(text string) *etree.Element {
	e := etree.NewElement("lyric")
	e.CreateAttr("number", "1")
	e.CreateAttr("name", SungName)
	AddText(e, "syllabic", "single")
	AddText(e, "text", text)
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

// numeral is what a <numeral> says: a degree of a key and how it is printed.
type numeral struct {
	text          string
	degree, alter int
	// shows is set where the accidental is to be printed and the text has none.
	shows bool
	key   theory.Key
}

// raised is the scale of a minor key that has the raised sixth or seventh degree as its
// own, "" where the degree is another or not raised (W3C MusicXML 4.0, numeral-mode). Of
// such a degree no accidental is printed, as the letters of its numeral say it.
func (n numeral) raised() string {
	switch {
	case n.key.Mode != theory.MinorMode || n.alter != 1:
	case n.degree == 7:
		return "harmonic minor"
	case n.degree == 6:
		return "melodic minor"
	}
	return ""
}

func (n numeral) addTo(parent *etree.Element) {
	e := parent.CreateElement("numeral")
	AddNumber(e, "numeral-root", n.degree).CreateAttr("text", n.text)
	mode := n.raised()
	if n.alter != 0 && mode == "" {
		alter := AddNumber(e, "numeral-alter", n.alter)
		if !n.shows {
			alter.CreateAttr("print-object", "no")
		}
	}
	if mode == "" {
		mode = n.key.Mode.String()
	}
	key := e.CreateElement("numeral-key")
	key.CreateAttr("print-object", "no")
	AddNumber(key, "numeral-fifths", n.key.Signature())
	AddText(key, "numeral-mode", mode)
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
		if f.Suffix != "" {
			AddText(figure, "suffix", f.Suffix)
		}
		if f.Extends {
			figure.CreateElement("extend").CreateAttr("type", "continue")
		}
	}
	return e
}

// signTexts are the accidentals and strokes of figures (W3C MusicXML 4.0, prefix and suffix)
// as text has them.
var signTexts = map[string]string{
	"sharp": "\u266f", "flat": "\u266d", "natural": "\u266e", "double-sharp": "\u266f\u266f", "sharp-sharp": "\u266f\u266f",
	"flat-flat": "\u266d\u266d", "double-flat": "\u266d\u266d", "plus": "+", "cross": "+", "slash": "/", "back-slash": "\\", "vertical": "|",
}

// FiguresText is a stack of figures as text, a line each from the top.
func FiguresText(stack []theory.Figure) string {
	var lines []string
	for _, f := range stack {
		line := signTexts[f.Prefix]
		if f.Number > 0 {
			line += strconv.Itoa(f.Number)
		}
		line += signTexts[f.Suffix]
		if line == "" && f.Extends {
			line = "\u2013"
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}
