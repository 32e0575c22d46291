package harmony

import (
	"slices"
	"strings"
	"testing"

	"partwright/theory"
)

// kindSemitones are the kind-values of W3C MusicXML 4.0 that chord symbols name chords with,
// in semitones above the root: triads and sevenths, sixths as triad with added sixth, ninths
// to thirteenths as the seventh with each further third up to the one that names them
// (kind-value), sus2 and sus4 as the second or fourth in place of the third.
var kindSemitones = map[string][]int{
	"major": {0, 4, 7}, "minor": {0, 3, 7}, "augmented": {0, 4, 8}, "diminished": {0, 3, 6},
	"dominant": {0, 4, 7, 10}, "major-seventh": {0, 4, 7, 11}, "minor-seventh": {0, 3, 7, 10}, "diminished-seventh": {0, 3, 6, 9},
	"augmented-seventh": {0, 4, 8, 10}, "half-diminished": {0, 3, 6, 10}, "major-minor": {0, 3, 7, 11},
	"major-sixth": {0, 4, 7, 9}, "minor-sixth": {0, 3, 7, 9},
	"dominant-ninth": {0, 4, 7, 10, 14}, "major-ninth": {0, 4, 7, 11, 14}, "minor-ninth": {0, 3, 7, 10, 14},
	"dominant-11th": {0, 4, 7, 10, 14, 17}, "minor-11th": {0, 3, 7, 10, 14, 17},
	"dominant-13th": {0, 4, 7, 10, 14, 17, 21}, "major-13th": {0, 4, 7, 11, 14, 17, 21}, "minor-13th": {0, 3, 7, 10, 14, 17, 21},
	"suspended-second": {0, 2, 7}, "suspended-fourth": {0, 5, 7},
}

// Every kind that names a chord on a root is voiced, with notes of that kind alone, and with
// the one that it is named after.
func TestFullChordsAreOfTheirKind(t *testing.T) {
	for kind, semitones := range kindSemitones {
		c, err := FullChord(&theory.GivenChord{Root: pc("C"), HasRoot: true, Kind: kind})
		if err != nil {
			t.Errorf("%s: %v", kind, err)
			continue
		}
		var has []int
		for i := range c.Quality.Size() {
			has = append(has, c.Quality.Member(c.Root, i).Chroma())
		}
		for _, s := range has {
			if !slices.ContainsFunc(semitones, func(of int) bool { return of%12 == s }) {
				t.Errorf("%s: %d semitones above the root are none of %v", kind, s, semitones)
			}
		}
		if named := semitones[len(semitones)-1] % 12; !slices.Contains(has, named) {
			t.Errorf("%s is sung as %v, without the note %d semitones up that names it", kind, has, named)
		}
	}
	for _, kind := range []string{"none", "power", "pedal", "Tristan", "Italian", "German", "French", "other", "no kind"} {
		if c, err := FullChord(&theory.GivenChord{Root: pc("C"), HasRoot: true, Kind: kind}); err == nil {
			t.Errorf("%s was read as %v", kind, c)
		} else if !strings.Contains(err.Error(), "C") {
			t.Errorf("%s: %v does not name the symbol", kind, err)
		}
	}
	// What is not voiced is told with the nearest that is: sounding alike for the augmented
	// sixths over their bass (Hutchinson, ch. 29), with all of its notes for the others.
	for kind, near := range map[string]string{"power": "C,", "major-11th": "Cmaj9,", "Italian": "C7,", "German": "C7,", "French": "C7b5,", "Tristan": "Cm7b5,"} {
		if _, err := FullChord(&theory.GivenChord{Root: pc("C"), HasRoot: true, Kind: kind}); err == nil || !strings.Contains(err.Error(), "the nearest is "+near) {
			t.Errorf("%s: %v, want the nearest to be %s", kind, err, near)
		}
	}
}

// Usual spellings of one chord, and degrees as W3C MusicXML 4.0 writes them (degree,
// degree-alter, degree-type). What may be written in its place: common practice, no source.
func TestSpellingsOfSymbols(t *testing.T) {
	for want, all := range map[string]string{
		"C":       "CM Cmaj CMaj Cmajor",
		"Cm":      "Cmin C-  Cmi Cminor CMin CMI",
		"C+":      "Caug C(#5)",
		"Cdim":    "Co C° Cm(b5)",
		"Cmaj7":   "CM7 CMaj7 Cma7 CΔ CΔ7 C△7",
		"Cm7":     "Cmin7 C-7 Cmi7 CMin7 CMi7",
		"Cm7b5":   "Cø Cø7 C-7b5 Cm7(b5) Cmin7b5 Cm7-5 Cmi7-5",
		"Cdim7":   "Co7 C°7",
		"Csus4":   "Csus C(sus4)",
		"C7sus4":  "C7sus C7(sus4)",
		"C69":     "C6/9 C6(add9)",
		"Cadd9":   "Cadd2 C(add9) C2",
		"Cmaj7/B": "C/B",
		"C11":     "C9sus4 C9sus Bb/C Gm7/C",
		"Cmadd9":  "Cm(add9) Cmadd2 C-add9",
		"C7":      "Cdom7",
		"C7b5":    "C7-5",
		"C7b9":    "C7(b9) C7♭9 C7-9",
		"C7#9":    "C7+9",
		"C7#5":    "C+7 C7(#5) C7+ C7+5",
		"C9/E":    "C9/E",
		"Am7/C":   "Am7/C",
		"C6":      "C6 C(add6)",
		"C13":     "C7(add13)",
		"Dm9":     "D-9 Dmin9",
	} {
		for _, text := range append(strings.Fields(all), want) {
			c, err := ParseSymbol(text)
			if err != nil || c.Symbol() != want {
				t.Errorf("%s is read as %s, %v, want %s", text, c.Symbol(), err, want)
			}
		}
	}
	for _, tt := range []struct {
		given theory.GivenChord
		want  string
	}{
		{theory.GivenChord{Kind: "major", Degrees: []theory.GivenDegree{{Value: 9, Type: "add"}}}, "Cadd9"},
		{theory.GivenChord{Kind: "dominant", Degrees: []theory.GivenDegree{{Value: 9, Alter: -1, Type: "add"}}}, "C7b9"},
		{theory.GivenChord{Kind: "suspended-fourth", Degrees: []theory.GivenDegree{{Value: 7, Type: "add"}}}, "C7sus4"},
		{theory.GivenChord{Kind: "major-sixth", Degrees: []theory.GivenDegree{{Value: 9, Type: "add"}}}, "C69"},
		{theory.GivenChord{Kind: "minor-seventh", Degrees: []theory.GivenDegree{{Value: 5, Alter: -1, Type: "alter"}}}, "Cm7b5"},
		{theory.GivenChord{Kind: "other", Text: "7#9"}, "C7#9"},
		{theory.GivenChord{Kind: "dominant-ninth", Inversion: 1}, "C9/E"},
		{theory.GivenChord{Kind: "major", HasBass: true, Bass: pc("D")}, "D11"},
		{theory.GivenChord{Kind: "dominant", Degrees: []theory.GivenDegree{{Value: 11, Alter: 1, Type: "add"}}}, ""},
		{theory.GivenChord{Kind: "minor", HasBass: true, Bass: pc("F#")}, ""},
		{theory.GivenChord{Kind: "major", Inversion: 3}, ""},
	} {
		tt.given.Root, tt.given.HasRoot = pc("C"), true
		if c, err := FullChord(&tt.given); tt.want == "" && err == nil || tt.want != "" && (err != nil || c.Symbol() != tt.want) {
			t.Errorf("%+v: %s, %v, want %q", tt.given, c.Symbol(), err, tt.want)
		}
	}
}

// Music is read as none of the qualities that only symbols ask for: the notes of C6 are
// those of Am7.
func TestMusicIsNotReadAsExtended(t *testing.T) {
	for _, symbol := range []string{"C6", "C9", "Gsus4", "C13", "C69"} {
		c, err := ParseSymbol(symbol)
		if err != nil {
			t.Fatal(err)
		}
		var classes []theory.PitchClass
		for i := range c.Quality.Size() {
			classes = append(classes, c.Quality.Member(c.Root, i))
		}
		if read, ok := Identify(classes, c.Bass()); ok && read.Quality.IsExtended() {
			t.Errorf("%s is read as %s", symbol, read.Symbol())
		}
	}
}
