package musicxml

import (
	"bytes"

	"partwright/theory/partwriting"
)

// familyMark is how a family of rules looks on the page: a color for its notes
// and a sign beside its numbers, so that nothing hangs on color alone.
type familyMark struct {
	color string
	sign  byte
}

// familyMarks is our own palette, made by the advice of Okabe and Ito ("Color
// Universal Design", 2008): hues from the blue and the yellow side, told apart
// by lightness as well. Every color has a contrast of at least 4.5:1 on white
// (WCAG 2.2, 1.4.3) and any two differ by at least 20 in CIE L*a*b* for normal
// and for protan, deutan and tritan vision. No value is a round one: a teacher's
// own color is not taken for ours.
//
// The signs are ASCII, so that any font has them: two lines side by side, lines
// that cross, a wave, notes one over the other, a way onward, a stroke from
// chord to chord, an ornament, a question.
var familyMarks = [...]familyMark{
	partwriting.Consecutives:  {"#282CC4", '='}, // blue
	partwriting.Placement:     {"#937000", '+'}, // ochre
	partwriting.Line:          {"#225F48", '~'}, // green
	partwriting.ChordTones:    {"#B64599", ':'}, // pink
	partwriting.Tendency:      {"#1173D9", '>'}, // sky blue
	partwriting.Progression:   {"#522E00", '/'}, // brown
	partwriting.Embellishment: {"#6D6D38", '*'}, // olive
	partwriting.Spelling:      {"#750568", '?'}, // plum
}

// headingColor is the near-black of the heading of the key.
const headingColor = "#1B1D22"

// ColorOf returns the color that marks give to the notes of a family, as
// "#RRGGBB".
func ColorOf(f partwriting.Family) string { return familyMarks[f].color }

// SignOf returns the sign that stands beside the numbers of a family.
func SignOf(f partwriting.Family) string { return string(familyMarks[f].sign) }

// familyOfColor returns the family of a color value as MusicXML writes it, in
// either case, with or without an opaque alpha; ok is false for any other value.
func familyOfColor(value []byte) (f partwriting.Family, ok bool) {
	for i := range familyMarks {
		if sameColor(value, familyMarks[i].color) {
			return partwriting.Family(i), true
		}
	}
	return 0, false
}

func isMarkColor(value []byte) bool {
	_, ok := familyOfColor(value)
	return ok || sameColor(value, headingColor)
}

func sameColor(value []byte, color string) bool {
	if len(value) == len("#AARRGGBB") && bytes.EqualFold(value[1:3], []byte("FF")) {
		return value[0] == '#' && bytes.EqualFold(value[3:], []byte(color[1:]))
	}
	return bytes.EqualFold(value, []byte(color))
}
