package harmony

import (
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// deviceCase is music with the devices that a musician names in it, read from the notes
// alone.
type deviceCase struct {
	source, music string
	want          []string
}

// Examples of each device and, after them, music that looks like one and is none. H21
// is Hutchinson, Music Theory for the 21st-Century Classroom; OMT1 is Open Music
// Theory, version 1; IM is Butterfield, Integrated Music Theory. "By definition" is a
// voicing of ours of a progression that these books name, from memory.
var deviceCases = []deviceCase{
	{"H21 ch. 27, sevenths by fifths in B minor", "B2 D4 F#4 A4 | E3 D4 E4 G4 | A2 C#4 E4 G4 | D3 C#4 D4 F#4 | G2 B3 D4 F#4 | C#3 B3 C#4 E4 | F#2 A#3 C#4 E4 | B2 B3 B3 D4",
		[]string{"sequence descending-fifths"}},
	{"by definition (OMT1, diatonic sequences): I IV viio iii vi ii V I", "C3 G3 E4 C5 | F3 A3 C4 C5 | B2 F3 D4 B4 | E3 G3 B3 B4 | A2 E3 C4 A4 | D3 F3 A3 A4 | G2 D3 B3 G4 | C3 E3 C4 G4",
		[]string{"sequence descending-fifths"}},
	{"by definition (OMT1): I V vi iii IV I", "C4 G4 C5 E5 | G3 G4 B4 D5 | A3 E4 A4 C5 | E3 E4 G4 B4 | F3 C4 F4 A4 | C3 C4 E4 G4 | F3 C4 F4 A4 | G3 B3 D4 G4 | C3 C4 E4 G4",
		[]string{"sequence descending-thirds"}},
	{"by definition (OMT1): I vi ii viio iii I IV, the rising 5-6 in root position", "C3 G3 E4 C5 | A2 A3 E4 C5 | D3 A3 F4 D5 | B2 B3 F4 D5 | E3 B3 G4 E5 | C3 C4 G4 E5 | F3 C4 A4 F5 | G3 B3 G4 D5 | C3 C4 E4 C5",
		[]string{"sequence ascending-5-6"}},
	{"by definition (H21, parallel sixths)", "E3 G3 C4 C5 | D3 F3 B3 B4 | C3 E3 A3 A4 | B2 D3 G3 G4 | A2 C3 F3 F4 | G2 D3 B3 G4 | C3 E3 C4 G4",
		[]string{"sequence parallel-sixths"}},
	{"IM unit 11b: I vi ii V I is no sequence", "C3 G3 E4 C5 | A2 A3 E4 C5 | D3 A3 F4 D5 | G2 B3 G4 D5 | C3 C4 E4 C5", nil},
	{"no sequence: I V I V I V I", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5", nil},

	{"no pedal: I IV64 I over C, which belongs to all (H21 fig. 26.11.1)", "C3 C4 E4 G4 | C3 C4 F4 A4 | C3 C4 E4 G4 | G2 B3 D4 G4 | C3 C4 E4 G4", nil},

	{"by definition (H21 ch. 10): dominant over a tonic pedal", "C3 G3 E4 C5 | C3 G3 F4 B4 | C3 G3 E4 C5", []string{"pedal-point 1"}},
	{"no pedal: a bass that waits into V6 and falls (H21 ch. 10, 2-3)", "C3 G3 E4 C5 | C3 G3 D4 B4 | B2 G3 D4 D5 | C3 G3 E4 C5", nil},
	{"no pedal: C belongs to the chord with B too; common practice, no source", "C3 G3 E4 C5 | C3 G3 E4 B4 | C3 A3 F4 A4 | C3 G3 E4 C5", nil},

	{"by definition (H21, mode mixture): iv in major", "C3 G3 E4 C5 | F3 Ab3 C4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5", []string{"mixture"}},
	{"by definition: bVI in major", "C3 G3 E4 C5 | E3 G3 E4 C5 | F3 A3 C4 C5 | G2 G3 D4 B4 | Ab2 Ab3 Eb4 C5 | F2 A3 D4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5", []string{"mixture"}},
	{"by definition: viio7 in major", "C3 G3 E4 C5 | B2 Ab3 D4 F4 | C3 G3 C4 E4 | G2 G3 B3 D4 | C3 G3 C4 E4", []string{"mixture"}},
	{"no mixture: the Neapolitan in minor (H21 fig. 29.3.1)", "C3 Eb4 G4 C5 | F3 F4 Ab4 Db5 | G3 D4 G4 B4 | C3 Eb4 G4 C5", nil},
	{"no mixture: V/V", "C3 G3 E4 C5 | D3 A3 F#4 C5 | G2 B3 G4 D5 | C3 C4 E4 C5", nil},

	{"by definition (H21, common-tone diminished seventh)", "C3 G3 E4 C5 | C3 A3 D#4 F#4 | C3 G3 E4 G4 | G2 B3 D4 G4 | C3 C4 E4 G4", []string{"common-tone"}},
	{"no common tone: viio7 goes to i", "C3 Eb4 G4 C5 | B2 D4 F4 Ab4 | C3 C4 Eb4 G4", nil},
	{"no common tone: viio7/V goes to V", "C3 G3 E4 C5 | F#3 A3 Eb4 C5 | G3 B3 D4 B4 | C3 G3 E4 C5", nil},

	{"by definition (OMT1, enharmonic reinterpretation): Ab7 goes to V of C minor", "C3 Eb4 G4 C5 | F3 F4 Ab4 C5 | Ab2 Eb4 Gb4 C5 | G2 D4 G4 B4 | C3 Eb4 G4 C5", []string{"reinterpretation Ger6"}},
	{"no other spelling: Ger65 goes to V (H21 fig. 29.4.1)", "A3 C4 E4 A4 | F3 C4 D#4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4", nil},
	{"no other spelling: V7 goes to vi", "C3 G3 E4 C5 | G2 B3 F4 D5 | A2 A3 E4 C5 | D3 A3 F4 D5 | G2 B3 G4 D5 | C3 C4 E4 C5", nil},
}

// Devices over the chords that a musician names, where the notes alone are read
// otherwise: a dominant over its tonic is heard as a seventh on that tonic, chords of the
// parallel minor in a row as a change of key.
var namedDevices = []struct {
	deviceCase
	numerals string // one a chord, in C major
}{
	{deviceCase{"by definition (H21 ch. 10): dominant over a tonic pedal", "C3 G3 E4 C5 | C3 G3 F4 B4 | C3 G3 E4 C5", []string{"pedal-point 1"}}, "I V7 I"},
	{deviceCase{"by definition (H21 ch. 10): an inverted pedal on the dominant", "C3 E4 C4 G4 | F3 F4 C4 G4 | C3 E4 C4 G4", []string{"pedal-point 5"}}, "I IV I"},
	{deviceCase{"no pedal: the note is foreign to the last chord", "C3 G3 E4 C5 | C3 G3 E4 C5 | C3 G3 F4 B4", nil}, "I I V7"},
	{deviceCase{"no pedal: the note is left before", "C3 G3 E4 C5 | G2 G3 F4 B4 | C3 G3 E4 C5", nil}, "I V7 I"},
	{deviceCase{"by definition (H21, mode mixture): bVI and iio65 in major", "C3 G3 E4 C5 | Ab2 Ab3 Eb4 C5 | F2 Ab3 D4 C5 | G2 G3 D4 B4", []string{"mixture", "mixture"}}, "I bVI iiø65 V"},
	{deviceCase{"a German sixth that goes on as V7 of the Neapolitan", "F3 Ab3 C4 C5 | Ab2 C4 Eb4 F#4 | Db3 Db4 F4 F4", []string{"mixture", "reinterpretation Ab7"}}, "iv Ger65 N"},
	{deviceCase{"a diminished seventh turned: B D F Ab goes on as F Ab Cb D to G flat", "C3 E4 G4 C5 | B2 D4 F4 Ab4 | Gb2 Db4 Gb4 Bb4", []string{"mixture", "reinterpretation Fdim7"}}, "I viio7 I/bV"},
}

func TestNamedDevices(t *testing.T) {
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	for _, c := range namedDevices {
		texture := theorytest.Chords(c.music)
		var labels []Label
		for i, text := range strings.Fields(c.numerals) {
			in := key
			if text == "I/bV" {
				text, in = "I", theory.MajorKey(theory.PitchClass{Step: theory.G, Alter: -1})
			}
			numeral, err := ParseNumeral(text, in.Mode)
			if err != nil {
				t.Fatal(err)
			}
			labels = append(labels, Label{Onset: texture.Moments[i].Onset, Reading: Reading{in, numeral}})
		}
		if got := devicesOf(Assume(texture, labels)); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.source, got, c.want)
		}
	}
}

// devicesOf writes the devices of an analysis.
func devicesOf(a *Analysis) []string {
	var out []string
	for _, d := range a.Devices() {
		out = append(out, strings.TrimSpace(d.Kind.String()+" "+d.Name))
	}
	return out
}

func TestDevices(t *testing.T) {
	for _, c := range deviceCases {
		a := Analyze(theorytest.Chords(c.music))
		if got := devicesOf(a); !slices.Equal(got, c.want) {
			t.Errorf("%s:\n%s\n got %v\nwant %v", c.source, numerals(a), got, c.want)
		}
	}
}
