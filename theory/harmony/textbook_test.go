package harmony

import (
	"strings"
	"testing"

	"partwright/theory/theorytest"
)

// Printed progressions with the numerals their books give them. H21 is
// Hutchinson, Music Theory for the 21st-Century Classroom; IM is Butterfield,
// Integrated Music Theory; OMT1 is Open Music Theory, version 1.
var progressions = []struct {
	source, music, want string
}{
	{"IM unit 10b, ex. 2", "C3 G3 E4 C5 | D3 A3 F4 A4 | G3 D4 F4 B4 | C3 C4 E4 C5",
		"C: I ii V7 I"},
	{"IM unit 11a, melody C A B C", "C3 G3 E4 C5 | F2 A3 D4 A4 | G2 G3 F4 B4 | C3 G3 E4 C5",
		"C: I ii6 V7 I"},
	{"IM unit 11b, I vi ii V I", "C3 G3 E4 C5 | A2 A3 E4 C5 | D3 A3 F4 D5 | G2 B3 G4 D5 | C3 C4 E4 C5",
		"C: I vi ii V I"},
	{"IM unit 11b", "C3 G3 E4 C5 | A2 G3 E4 C5 | D3 F3 D4 D5 | G2 B3 F4 D5 | C3 C4 E4 C5",
		"C: I vi7 ii V7 I"},
	{"IM unit 11c", "C3 G3 E4 C5 | B2 G3 D4 D5 | A2 A3 F4 C5 | G2 B3 F4 D5 | C3 C4 E4 C5",
		"C: I V6 IV6 V7 I"},
	{"H21 fig. 26.11.1, pedal six-four", "C3 C4 E4 G4 | C3 C4 F4 A4 | C3 C4 E4 G4 | G2 B3 D4 G4 | C3 C4 E4 G4",
		"C: I IV64 I V I"},
	{"H21 fig. 26.11.2, passing six-four", "C3 E4 G4 C5 | D3 D4 G4 B4 | E3 C4 G4 C5 | G3 B3 D4 G4 | C3 C4 E4 G4",
		"C: I V64 I6 V I"},
	{"H21 fig. 29.3.1, Neapolitan sixth", "C3 Eb4 G4 C5 | F3 F4 Ab4 Db5 | G3 D4 G4 B4 | C3 Eb4 G4 C5",
		"c: i N6 V i"},
	{"H21 ch. 26 practice in G minor", "G2 D4 G4 Bb4 | A2 C4 F#4 A4 | Bb2 D4 D4 G4 | D3 A3 D4 F#4 | Eb3 G3 Bb3 G4",
		"g: i viio6 i6 V VI"},
	{"H21 ch. 26 practice in B minor", "B2 D4 F#4 B4 | C#3 C#4 F#4 A#4 | D3 B3 F#4 B4 | E3 E4 G4 C#5 | F#3 D4 F#4 B4 | F#3 C#4 F#4 A#4 | G3 B3 D4 B4",
		"b: i V64 i6 iio6 Cad64 V VI"},
	{"H21 ch. 26 practice in C minor", "C3 Eb4 G4 C5 | F3 F4 Ab4 C5 | G3 Eb4 G4 C5 | Ab3 F4 F4 C5 | F3 F4 Ab4 D5 | G3 Eb4 G4 C5 | G3 D4 G4 B4 | Ab3 C4 Eb4 C5",
		"c: i iv i64 iv6 iio6 Cad64 V VI"},
	{"OMT1 figured bass in G minor", "G2 G4 Bb4 D5 | F#2 A4 A4 D5 | G2 G4 Bb4 D5 | A2 F#4 A4 C5 | Bb2 D4 G4 Bb4 | D3 D4 F#4 A4 | G3 D4 G4 Bb4",
		"g: i V6 i viio6 i6 V i"},
	{"OMT1 keyboard exercise in B minor", "B3 F#4 B4 D5 | G3 G4 B4 E5 | D3 F#4 B4 F#5 | C#3 F#4 A#4 E5 | B2 F#4 B4 D5 | F#3 E4 A#4 C#5 | B2 D4 F#4 B4",
		"b: i iv6 i6 V43 i V7 i"},
	{"OMT1 keyboard exercise in B flat", "Bb2 F4 Bb4 D5 | Eb3 F4 A4 C5 | D3 F4 Bb4 Bb4 | G3 Eb4 Eb4 Bb4 | F3 D4 F4 Bb4 | F2 C4 Eb4 A4 | Bb2 Bb3 D4 Bb4",
		"Bb: I V42 I6 IV6 Cad64 V7 I"},
	{"OMT1 compound cadence", "G3 G4 C5 E5 | G2 F4 B4 D5 | C3 E4 G4 C5",
		"C: Cad64 V7 I"},
	{"H21 sec. 27.1, Mozart, Sonata K. 331", "A2 E4 A4 C#5 | B2 E4 G#4 D5 | C#3 E4 A4 E5",
		"A: I V43 I6"},
	{"OMT1 voice exchange in G", "G2 D4 G4 B4 | A2 C4 F#4 A4 | B2 D4 G4 G4",
		"G: I viio6 I6"},
	{"H21 fig. 26.7.6, V to vi", "C3 G3 E4 C5 | G2 B3 D4 G4 | A2 A3 C4 E4",
		"C: I V vi"},
	{"H21 fig. 27.4.2", "C3 G3 E4 C5 | B2 F3 D4 A4 | C3 E3 C4 G4",
		"C: I viiø7 I"},
	{"IM unit 8a, plagal", "G2 D3 B3 G4 | C3 E3 C4 G4 | G2 D3 B3 G4",
		"G: I IV I"},
	{"IM unit 8a, Phrygian", "C3 C4 Eb4 G4 | Ab2 C4 C4 F4 | G2 B3 D4 G4",
		"c: i iv6 V"},
	{"H21 fig. 29.4.1, French sixth in A minor", "A3 C4 E4 A4 | F3 B3 D#4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4",
		"a: i Fr43 V i"},
	{"H21 fig. 29.4.1, Italian sixth in A minor", "A3 C4 E4 A4 | F3 A3 D#4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4",
		"a: i It6 V i"},
	{"H21 fig. 29.4.1, German sixth in A minor", "A3 C4 E4 A4 | F3 C4 D#4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4",
		"a: i Ger65 V i"},
}

// numerals writes an analysis as "C: I V7 I", naming each change of key.
func numerals(a *Analysis) string {
	var words []string
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		if i == 0 || h.Key != a.Harmonies[i-1].Key {
			words = append(words, h.Key.Abbreviation()+":")
		}
		words = append(words, h.Numeral.Text(h.Key.Mode))
	}
	return strings.Join(words, " ")
}

func TestPrintedProgressions(t *testing.T) {
	for _, p := range progressions {
		if got := numerals(Analyze(theorytest.Chords(p.music))); got != p.want {
			t.Errorf("%s:\n got %s\nwant %s", p.source, got, p.want)
		}
	}
}
