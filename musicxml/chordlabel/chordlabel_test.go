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
