package harmony

import (
	"fmt"
	"reflect"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// Hutchinson, Music Theory for the 21st-Century Classroom, fig. 26.11.2, with
// the book's numerals and with one of them mistaken.
func TestGuidedByRomanText(t *testing.T) {
	texture := theorytest.Chords("C3 E4 G4 C5 | D3 D4 G4 B4 | E3 C4 G4 C5 | G3 B3 D4 G4 | C3 C4 E4 G4")
	for text, want := range map[string][]int{
		"m1 C: I b2 V64 b3 I6 b4 V\nm2 I":   nil,
		"m1 C: I b2 viio6 b3 I6 b4 V\nm2 I": {1},
	} {
		r, err := ReadRomanText(text)
		if err != nil {
			t.Fatal(err)
		}
		given := GuidedAs(texture, r.Annotations(texture), Replace, ByTexture)
		if len(given.Harmonies) != 5 {
			t.Errorf("%q gives %s", text, numerals(given))
		}
		var got []int
		for _, c := range GuidedAs(texture, r.Annotations(texture), Steer, ByTexture).Contested {
			got = append(got, c.Moment)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%q is contested at %v, want %v", text, got, want)
		}
		if given.Cadences[0].Kind != ImperfectAuthentic {
			t.Errorf("%q: cadence %s, want IAC: the fifth is on top", text, given.Cadences[0].Kind)
		}
	}
}

// The chord symbol in the score decides whether A over C is a note of the chord.
func ExampleGuidedAs() {
	texture := theorytest.Chords("C3 G3 E4 C5 | C3 G3 E4 A4 | F3 A3 F4 A4 | G3 B3 D4 G4 | C3 C4 E4 G4")
	a := theory.PitchClass{Step: theory.A}
	texture.Score.Chords = []theory.GivenChord{
		{Onset: theory.Whole(1), Root: a, HasRoot: true, Kind: "minor-seventh"}, {Onset: theory.Whole(2), Kind: "none"},
	}
	for _, h := range GuidedAs(texture, ScoreAnnotations(texture), Steer, ByTexture).Harmonies {
		fmt.Println(h.Symbol(), h.Numeral.Text(h.Key.Mode))
	}
	// Output:
	// C I
	// Am7/C vi65
	// F IV
	// G V
	// C I
}

func ExampleGuidedAs_replace() {
	texture := theorytest.Chords("G2 D3 B3 G4 | C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4")
	r, err := ReadRomanText("m1 G: I b2 IV b3 V b4 I")
	if err != nil {
		panic(err)
	}
	for _, h := range GuidedAs(texture, r.Annotations(texture), Replace, ByTexture).Harmonies {
		fmt.Println(h.Symbol(), h.Numeral.Text(h.Key.Mode))
	}
	// Output:
	// G I
	// C IV
	// D V
	// G I
}
