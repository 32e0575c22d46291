package musicxml

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory"
)

// frameText writes the measures as "label@onset+length", with "^into" where one
// begins inside the full measure, "i" for implicit and "|" for a phrase's bar.
func frameText(s *theory.Score) string {
	var words []string
	for i := range s.Measures {
		m := &s.Measures[i]
		word := fmt.Sprintf("%s@%s+%s", m.Label, m.Onset, m.Length)
		if m.Into.Sign() > 0 {
			word += "^" + m.Into.String()
		}
		if m.Implicit {
			word += "i"
		}
		if m.PhraseBar {
			word += "|"
		}
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

// The facts follow W3C MusicXML 4.0, measure (number, implicit), barline, time.
func TestMeasures(t *testing.T) {
	open := attributes(divisions(1), metre("4", "4"))
	double := `<barline location="right"><bar-style>light-light</bar-style></barline>`
	cases := []struct {
		name, why string
		parts     []voicePart
		want      string
	}{
		{
			"labels", "number is text: letters, repeats and nothing at all are kept",
			[]voicePart{{"P1", []barText{{`number="0"`, open + music("G4/4")}, {`number="1bis"`, music("G4/4")}, {`number=""`, music("G4/4")}, {`number=""`, music("G4/4")}, {`number="X1"`, music("G4/4")}}}},
			"0@0+4 1bis@4+4 @8+4 @12+4 X1@16+4",
		},
		{
			"pickup", "a pickup ends where a full measure would; the last measure makes up for it",
			[]voicePart{{"P1", []barText{{`number="0" implicit="yes"`, open + music("D4/1")}, {`number="1"`, music("G4/4")}, {`number="2"`, music("G4/3")}}}},
			"0@0+1^3i 1@1+4 2@5+3",
		},
		{
			"pickup that is counted", "programs forget implicit; a short first measure is a pickup all the same",
			[]voicePart{{"P1", measures(open+music("D4/1"), music("G4/4"), music("G4/3"))}},
			"1@0+1^3 2@1+4 3@5+3",
		},
		{
			"split by a section", "an implicit measure goes on where the one before it was cut",
			[]voicePart{{"P1", []barText{{`number="1"`, open + music("G4/4")}, {`number="2"`, music("G4/3") + double}, {`number="X1" implicit="yes"`, music("D4/1")}, {`number="3"`, music("G4/4")}}}},
			"1@0+4 2@4+3| X1@7+1^3i 3@8+4",
		},
		{
			"split without a bar line", "an implicit measure goes on whatever stands between",
			[]voicePart{{"P1", []barText{{`number="1"`, open + music("G4/4")}, {`number="2"`, music("G4/2")}, {`number="X1" implicit="yes"`, music("D4/1")}, {`number="X2" implicit="yes"`, music("D4/1")}, {`number="3"`, music("G4/4")}}}},
			"1@0+4 2@4+2 X1@6+1^2i X2@7+1^3i 3@8+4",
		},
		{
			"split without implicit", "two measures that make one full one around a double bar are one measure",
			[]voicePart{{"P1", measures(open+music("G4/4"), music("G4/3")+double, music("D4/1"), music("G4/4"))}},
			"1@0+4 2@4+3| 3@7+1^3 4@8+4",
		},
		{
			"pickup after a full section", "a short measure that opens a section is its pickup",
			[]voicePart{{"P1", []barText{{`number="1"`, open + music("G4/4") + double}, {`number="2"`, music("D4/1")}, {`number="3"`, music("G4/4")}}}},
			"1@0+4| 2@4+1^3 3@5+4",
		},
		{
			"a short measure inside", "46f of the MusicXML test suite: short measures are not padded",
			[]voicePart{{"P1", measures(open+music("G4/4"), music("G4/2"), music("G4/4"), music("G4/4"))}},
			"1@0+4 2@4+2 3@6+4 4@10+4",
		},
		{
			"one short measure", "a measure alone that is short begins on the first beat",
			[]voicePart{{"P1", measures(open + music("G4/3"))}},
			"1@0+3",
		},
		{
			"senza misura", "senza-misura: no full measure, so nothing to begin inside of",
			[]voicePart{{"P1", []barText{{`number="1" implicit="yes"`, attributes(divisions(1), "<time><senza-misura/></time>") + music("G4/7")}, {`number="2"`, music("G4/2")}}}},
			"1@0+7i 2@7+2",
		},
		{
			"bar lines", "a final bar line and both sides of a repeat close a phrase; one on the left closes the measure before",
			[]voicePart{{"P1", measures(
				open+music("G4/4"),
				`<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>`+music("G4/4"),
				music("G4/4")+`<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>`,
				music("G4/2")+`<barline location="middle"><bar-style>dashed</bar-style></barline>`+music("G4/2"),
				music("G4/4")+`<barline><bar-style>light-heavy</bar-style></barline>`,
			)}},
			"1@0+4| 2@4+4 3@8+4| 4@12+4 5@16+4|",
		},
		{
			"parts of unequal length", "the longest part makes the measure; the others wait",
			[]voicePart{{"P1", measures(open+music("G4/4"), music("G4/4"))}, {"P2", measures(open+music("G3/2"), music("G3/4"), music("G3/4"))}},
			"1@0+4 2@4+4 3@8+4",
		},
		{
			"pickup in one part only", "the part without the pickup is laid under its own labels",
			[]voicePart{
				{"P1", []barText{{`number="0" implicit="yes"`, open + music("D4/1")}, {`number="1"`, music("G4/4")}, {`number="2"`, music("A4/3")}}},
				{"P2", []barText{{`number="1"`, open + music("G3/4")}, {`number="2"`, music("A3/3")}}},
			},
			"0@0+1^3i 1@1+4 2@5+3",
		},
		{
			"whole rest under a pickup", "a whole-measure rest in one part does not make the pickup longer",
			[]voicePart{
				{"P1", []barText{{`number="0" implicit="yes"`, open + music("D4/1")}, {`number="1"`, music("G4/4")}}},
				{"P2", []barText{{`number="0" implicit="yes"`, open + `<note><rest measure="yes"/><duration>4</duration></note>`}, {`number="1"`, music("G3/4")}}},
			},
			"0@0+1^3i 1@1+4",
		},
		{
			"whole rest over a short measure", "where it is no pickup the rest counts",
			[]voicePart{
				{"P1", measures(open+music("G4/4"), music("G4/3"), music("G4/4"))},
				{"P2", measures(open+music("G3/4"), `<note><rest measure="yes"/><duration>4</duration></note>`, music("G3/4"))},
			},
			"1@0+4 2@4+4 3@8+4",
		},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, composition{parts: c.parts}.partwise())
			if diff := cmp.Diff(c.want, frameText(d.Score)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.why, diff)
			}
		})
	}
}

// The second part's notes must stand under those of the first, whatever pickup
// or rest is missing.
func TestPartsLineUp(t *testing.T) {
	open := attributes(divisions(1), metre("4", "4"))
	d := readText(t, composition{parts: []voicePart{
		{"P1", []barText{{`number="0" implicit="yes"`, open + music("D4/1")}, {`number="1"`, music("G4/4")}}},
		{"P2", []barText{{`number="1"`, open + music("G3/4")}}},
	}}.partwise())
	if got, want := sketch(d.Score), "0+1 D4, 1+4 G4 | 1+4 G3"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if !hasNotice(d, "part-shorter", "P2") {
		t.Errorf("nothing said about the missing pickup: %v", d.Notices)
	}
}

// The rest that does not count is cut to the pickup, so that nothing reaches
// over the next measure.
func TestRestUnderPickupIsCut(t *testing.T) {
	open := attributes(divisions(1), metre("4", "4"))
	d := readText(t, composition{parts: []voicePart{
		{"P1", []barText{{`number="0" implicit="yes"`, open + music("D4/1")}, {`number="1"`, music("G4/4")}}},
		{"P2", []barText{{`number="0" implicit="yes"`, open + `<note><rest measure="yes"/><duration>4</duration></note>`}, {`number="1"`, music("G3/4")}}},
	}}.partwise())
	if got, want := sketch(d.Score), "0+1 D4, 1+4 G4 | 0+1 rest whole-measure, 1+4 G3"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

func TestMetres(t *testing.T) {
	cases := []struct{ name, why, time, want string }{
		{"simple", "beats over beat-type", metre("3", "4"), "3/4"},
		{"additive", "beats may be a sum", metre("3+2", "8"), "3+2/8"},
		{"composite", "several pairs, brought to the smaller unit: 2/4 is four eighths", "<time><beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type></time>", "4+3/8"},
		{"symbol", "cut is a way of printing 2/2", `<time symbol="cut"><beats>2</beats><beat-type>2</beat-type></time>`, "2/2"},
		{"interchangeable", "the second metre is an alternative", "<time><beats>3</beats><beat-type>4</beat-type><interchangeable><beats>6</beats><beat-type>8</beat-type></interchangeable></time>", "3/4"},
		{"senza misura", "no metre", "<time><senza-misura>X</senza-misura></time>", "senza misura"},
		{"no beats", "3/0 is no metre", metre("3", "0"), "senza misura"},
		{"words", "three is no number", metre("three", "4"), "senza misura"},
		{"unfinished", "beats without a beat type", "<time><beats>3</beats></time>", "senza misura"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, alone(attributes(divisions(1), c.time)+music("G4/3")).partwise())
			if got := d.Score.Measures[0].Time.String(); got != c.want {
				t.Errorf("%s, want %s: %s", got, c.want, c.why)
			}
		})
	}
}

// Keys and metres take effect where they stand, also inside a measure and on one
// staff; signs that only say again what holds are no changes.
func TestKeysAndMetresChange(t *testing.T) {
	d := readText(t, composition{parts: []voicePart{{"P1", measures(
		attributes(divisions(1), key(1), metre("4", "4"))+music("G4/2")+attributes(key(-2))+music("G4/2"),
		attributes(key(-2), metre("4", "4"))+music("G4/4"),
		attributes(`<key number="2"><fifths>0</fifths><mode>minor</mode></key>`, metre("3", "4"))+music("G4/3"),
	)}, {"P2", measures(attributes(divisions(1), `<key><key-step>B</key-step><key-alter>-1</key-alter></key>`)+music("G3/4"), music("G3/4"), music("G3/3"))}}}.partwise())
	var keys, times []string
	for _, k := range d.Score.Keys {
		keys = append(keys, fmt.Sprintf("%s P%d s%d %d %d %v", k.Onset, k.Part+1, k.Staff, k.Signature.Fifths, k.Signature.Mode, k.Signature.Other))
	}
	for _, c := range d.Score.Times {
		times = append(times, fmt.Sprintf("%s P%d s%d %s", c.Onset, c.Part+1, c.Staff, c.Time))
	}
	if diff := cmp.Diff([]string{"0 P1 s0 1 0 false", "0 P2 s0 0 0 true", "2 P1 s0 -2 0 false", "8 P1 s2 0 2 false"}, keys); diff != "" {
		t.Errorf("keys (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"0 P1 s0 4/4", "8 P1 s0 3/4"}, times); diff != "" {
		t.Errorf("metres (-want +got):\n%s", diff)
	}
	for i, want := range []int8{1, -2, -2} {
		if got := d.Score.Measures[i].Key.Fifths; got != want {
			t.Errorf("measure %d begins with %d fifths, want %d", i, got, want)
		}
	}
}

// Where the first part has no metre, or fewer measures, another one speaks.
func TestMetreOfAnotherPart(t *testing.T) {
	d := readText(t, composition{parts: []voicePart{
		{"P1", measures(attributes(divisions(1), key(2))+music("G4/3"), music("G4/3"))},
		{"P2", measures(attributes(divisions(1), key(2), metre("3", "4"))+music("G3/3"), music("G3/3"), attributes(key(1))+music("G3/3"))},
	}}.partwise())
	for i, m := range d.Score.Measures {
		if fifths := [...]int8{2, 2, 1}[i]; m.Time.String() != "3/4" || m.Key.Fifths != fifths {
			t.Errorf("measure %s: %s with %d fifths, want 3/4 with %d", m.Label, m.Time, m.Key.Fifths, fifths)
		}
	}
}

// The resolution must be a common denominator of everything in the score, as
// theory.Fraction's exactness rests on it.
func TestResolution(t *testing.T) {
	d := readText(t, composition{parts: []voicePart{
		{"P1", measures(common(12) + music("G4/4 G4/4 G4/4 G4/36"))},
		{"P2", measures(common(10) + music("G4/2 G4/8 G4/30"))},
	}}.partwise())
	if d.Score.Resolution != 15 {
		t.Errorf("thirds and fifths of a quarter have %d in common, want 15", d.Score.Resolution)
	}
	for _, n := range d.Score.Notes {
		if d.Score.Resolution%n.Onset.Den() != 0 || d.Score.Resolution%n.Duration.Den() != 0 {
			t.Errorf("%d is no denominator of %s or %s", d.Score.Resolution, n.Onset, n.Duration)
		}
	}
}
