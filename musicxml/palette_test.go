package musicxml

import (
	"fmt"
	"math"
	"testing"

	"partwright/theory/partwriting"
)

// TestPaletteContrast computes contrast by WCAG 2.2, "relative luminance" and
// "contrast ratio"; success criterion 1.4.3 asks 4.5:1 of text. The check of the
// formula itself: black on white is 21:1, #767676 the well-known lightest gray
// that passes.
func TestPaletteContrast(t *testing.T) {
	if c := contrastOnWhite("#000000"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black has a contrast of %v", c)
	}
	if c, d := contrastOnWhite("#767676"), contrastOnWhite("#777777"); c < 4.5 || d >= 4.5 {
		t.Fatalf("grays have contrasts of %v and %v", c, d)
	}
	for _, color := range append(paletteColors(), headingColor, labelColor) {
		if c := contrastOnWhite(color); c < 4.5 {
			t.Errorf("%s has a contrast of %.2f on white, want 4.5", color, c)
		}
	}
}

// deficiencies are the matrices for full protanomaly, deuteranomaly and
// tritanomaly of Machado, Oliveira and Fernandes, "A Physiologically-based Model
// for Simulation of Color Vision Deficiency" (IEEE TVCG 15, 2009), table at
// severity 1.0, from memory; each row must add up to 1, so that white stays
// white. They apply to linear RGB.
var deficiencies = map[string][3][3]float64{
	"normal": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protan": {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deutan": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritan": {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// TestPaletteIsToldApart asks that any two colors, and each color and the black
// of other notes, differ clearly in CIE 1976 L*a*b* (a difference of 2.3 is just
// noticeable by Mahy, Van Eycken and Oosterlinck 1994; we ask for several times
// that, since note heads are small).
func TestPaletteIsToldApart(t *testing.T) {
	for vision, matrix := range deficiencies {
		for _, row := range matrix {
			if sum := row[0] + row[1] + row[2]; math.Abs(sum-1) > 1e-5 {
				t.Errorf("%s: a row adds up to %v", vision, sum)
			}
		}
		seen := map[string][3]float64{}
		for _, color := range paletteColors() {
			seen[color] = seenLab(color, matrix)
		}
		for a, labA := range seen {
			if d := distance(labA, [3]float64{}); d < 25 {
				t.Errorf("%s: %s differs from black by %.1f only", vision, a, d)
			}
			for b, labB := range seen {
				if d := distance(labA, labB); a < b && d < 20 {
					t.Errorf("%s: %s and %s differ by %.1f only", vision, a, b, d)
				}
			}
		}
	}
}

// TestFamilySigns: eight families, eight signs, none of them a letter (a voice or
// a note name), a digit or a bracket, all ASCII.
func TestFamilySigns(t *testing.T) {
	if len(familyMarks) != len(partwriting.Families) {
		t.Fatalf("%d marks for %d families", len(familyMarks), len(partwriting.Families))
	}
	seen := map[byte]bool{}
	for f, m := range familyMarks {
		if m.sign <= ' ' || m.sign > '~' || m.sign >= '0' && m.sign <= '9' || m.sign|0x20 >= 'a' && m.sign|0x20 <= 'z' ||
			m.sign == '[' || m.sign == ']' || m.sign == '(' || m.sign == ')' || seen[m.sign] {
			t.Errorf("%v has the sign %q", partwriting.Family(f), m.sign)
		}
		seen[m.sign] = true
	}
}

func TestColorValuesAreRecognized(t *testing.T) {
	tests := []struct {
		value string
		want  bool
		why   string
	}{
		{"#282CC4", true, "as written"},
		{"#282cc4", true, "programs differ in case"},
		{"#FF282CC4", true, "MusicXML 4.0, type color: an opaque alpha says the same"},
		{"#80282CC4", false, "half transparent is no mark"},
		{"#282CC5", false, "another color"},
		{"", false, "no color"},
		{"#0000FF", false, "a teacher's blue"},
	}
	for _, tt := range tests {
		if _, ok := familyOfColor([]byte(tt.value)); ok != tt.want {
			t.Errorf("%q: %v; %s", tt.value, ok, tt.why)
		}
	}
}

func paletteColors() (colors []string) {
	for _, m := range familyMarks {
		colors = append(colors, m.color)
	}
	return colors
}

func linear(color string) (rgb [3]float64) {
	var r, g, b int
	if _, err := fmt.Sscanf(color, "#%02X%02X%02X", &r, &g, &b); err != nil {
		panic(err)
	}
	for i, c := range []int{r, g, b} {
		v := float64(c) / 255
		if v <= 0.04045 {
			rgb[i] = v / 12.92
		} else {
			rgb[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return rgb
}

func contrastOnWhite(color string) float64 {
	c := linear(color)
	return 1.05 / (0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2] + 0.05)
}

// seenLab is a color as someone sees it, in CIE L*a*b* under D65.
func seenLab(color string, vision [3][3]float64) [3]float64 {
	l := linear(color)
	var c [3]float64
	for i := range c {
		for j := range l {
			c[i] += vision[i][j] * l[j]
		}
		c[i] = min(1, max(0, c[i]))
	}
	x := (0.4124564*c[0] + 0.3575761*c[1] + 0.1804375*c[2]) / 0.95047
	y := 0.2126729*c[0] + 0.7151522*c[1] + 0.0721750*c[2]
	z := (0.0193339*c[0] + 0.1191920*c[1] + 0.9503041*c[2]) / 1.08883
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

func distance(a, b [3]float64) float64 {
	return math.Sqrt(math.Pow(a[0]-b[0], 2) + math.Pow(a[1]-b[1], 2) + math.Pow(a[2]-b[2], 2))
}
