package chordlabel_test

import (
	"testing"

	"partwright/musicxml/chordlabel"
	"partwright/theory"
	"partwright/theory/harmony"
)

// The texts of a numeral, one after the other, are the numeral as it is printed, with the
// accidental between them that an engraver prints (as Verovio 6.3 does, whatever
// print-object says) from the chord it is printed for; the degrees are counted as W3C MusicXML 4.0 counts them (numeral-root).
func TestNumeralTexts(t *testing.T) {
	c := theory.PitchClass{Step: theory.C}
	for _, tt := range []struct {
		key     theory.Key
		numeral string
		newKey  bool
		printed string
		degrees string
		why     string
	}{
		{theory.MajorKey(c), "ii65", true, "C: ii65", "2", "a new key stands in front"},
		{theory.MajorKey(c), "V7/V", false, "V7/V", "5 5", "the chord and what it is applied to"},
		{theory.MajorKey(c), "viio65/ii", false, "viio65/ii", "7 2", "a diminished seventh of the second degree"},
		{theory.MajorKey(c), "V", false, "V", "5", "a triad"},
		{theory.MinorKey(c), "viio6", false, "viio6", "7", "a raised seventh degree"},
		{theory.MinorKey(c), "vi/o7", true, "c: viø7", "6", "a raised sixth degree"},
		{theory.MajorKey(c), "bVI", true, "C: bVI", "6", "a lowered degree of major"},
		{theory.MajorKey(c), "bVII6/V", false, "bVII6/V", "7 5", "a lowered degree of another"},
		{theory.MajorKey(c), "#ivo7", false, "#ivo7", "4", "a raised degree of major"},
		{theory.MajorKey(c), "N6", false, "N6", "2", "a Neapolitan"},
		{theory.MinorKey(c), "Ger65", false, "Ger65", "4", "an augmented sixth"},
	} {
		numeral, err := harmony.ParseNumeral(tt.numeral, tt.key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		e := chordlabel.Numeral(harmony.Reading{Key: tt.key, Numeral: numeral}, tt.newKey, theory.Interval{})
		printed, degrees := "", ""
		for _, child := range e.ChildElements() {
			switch child.Tag {
			case "numeral":
				root := child.SelectElement("numeral-root")
				printed += root.SelectAttrValue("text", "")
				if alter := child.SelectElement("numeral-alter"); alter != nil && degrees == "" {
					printed += map[string]string{"1": "#", "-1": "b"}[alter.Text()]
				}
				degrees += " " + root.Text()
			case "kind":
				printed += child.SelectAttrValue("text", "")
			}
		}
		if printed != tt.printed || degrees != " "+tt.degrees {
			t.Errorf("%s: %q of degrees%s, want %q of %s", tt.why, printed, degrees, tt.printed, tt.degrees)
		}
	}
}

func TestEmptyFiguresAreNotPrinted(t *testing.T) {
	for _, tt := range []struct {
		stack []theory.Figure
		print string
	}{{nil, "no"}, {[]theory.Figure{{Prefix: "sharp"}}, ""}} {
		e := chordlabel.FiguredBass(tt.stack)
		if got := e.SelectAttrValue("print-object", ""); got != tt.print || len(e.SelectElements("figure")) != 1 {
			t.Errorf("%v: print-object %q, want %q", tt.stack, got, tt.print)
		}
	}
}

// Degrees beside the kind are printed by engravers whatever print-object says (Verovio 6.3
// prints the first in parentheses), so the text of the kind does not say them again: C6(9),
// G7(b9), as lead sheets have them.
func TestSymbolTexts(t *testing.T) {
	for symbol, want := range map[string]string{
		"C69": "6 add 9", "G7b9": "7 add 9", "Cadd9": " add 9", "G7sus4": "sus4 add 7", "G7b5": "7 alter 5",
		"C6": "6", "Am7": "m7", "G13": "13", "Csus4": "sus4",
	} {
		c, err := harmony.ParseSymbol(symbol)
		if err != nil {
			t.Fatal(err)
		}
		e := chordlabel.Symbol(harmony.ReadIn(theory.MajorKey(theory.PitchClass{Step: theory.C}), c), theory.Interval{})
		got := e.SelectElement("kind").SelectAttrValue("text", "")
		for _, d := range e.SelectElements("degree") {
			if d.SelectAttr("print-object") != nil {
				t.Errorf("%s: the degree is not printed", symbol)
			}
			got += " " + d.SelectElement("degree-type").Text() + " " + d.SelectElement("degree-value").Text()
		}
		if got != want {
			t.Errorf("%s: %q, want %q", symbol, got, want)
		}
	}
}

func TestFiguresText(t *testing.T) {
	for want, stack := range map[string][]theory.Figure{
		"\u266f6\n4\n3": {{Prefix: "sharp", Number: 6}, {Number: 4}, {Number: 3}},
		"7\n\u266e":     {{Number: 7}, {Prefix: "natural"}},
		"6\\\n+4\n2+":   {{Number: 6, Suffix: "back-slash"}, {Prefix: "plus", Number: 4}, {Number: 2, Suffix: "plus"}},
		"\u2013":        {{Extends: true}},
	} {
		if got := chordlabel.FiguresText(stack); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
