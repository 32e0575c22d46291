package sheet_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// An exercise has its labels at the line that it gives: symbols over it where the top staff is
// empty, numerals as its lyrics where the lowest is (W3C MusicXML 4.0, lyric). LilyPond 2.24
// by its musicxml2ly prints none at an empty staff. Where the line holds a note over a change
// of chord, numerals stay under the lowest staff, each at its moment.
func TestExerciseHasLabelsAtTheGivenLine(t *testing.T) {
	moving := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G2 B3 D4 B4")
	held := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 . | G2 B3 D4 B4")
	for _, tt := range []struct {
		name              string
		texture           *theory.Texture
		given             []int
		symbols, numerals int // the part that has them
		sung              bool
		words             []sheet.Sung
	}{
		{"soprano", moving, []int{0}, 1, 1, true, nil},
		{"soprano that holds a note", held, []int{0}, 1, 4, false, nil},
		{"soprano with words", moving, []int{0}, 1, 4, false, []sheet.Sung{{}}},
		{"bass", moving, []int{3}, 4, 4, true, nil},
		{"both", moving, []int{0, 3}, 1, 4, true, nil},
	} {
		var labels []harmony.Label
		for i, text := range []string{"I", "IV", "V"} {
			numeral, err := harmony.ParseNumeral(text, theory.MajorMode)
			if err != nil {
				t.Fatal(err)
			}
			labels = append(labels, harmony.Label{Onset: theory.Whole(int64(i)), Reading: harmony.Reading{Key: theory.MajorKey(theory.PitchClass{Step: theory.C}), Numeral: numeral}})
		}
		named := harmony.Assume(tt.texture, labels).Harmonies
		staves := sheet.Exercise(sheet.Open(tt.texture), tt.given)
		staves[0].Symbols, staves[3].Numerals = named, named
		before := slices.Clone(staves)
		data, err := sheet.Write(&sheet.Sheet{Texture: tt.texture, Staves: staves, Sung: tt.words})
		if err != nil {
			t.Fatal(err)
		}
		for i, part := range regexp.MustCompile(`(?s)<part id=.*?</part>`).FindAllString(string(data), -1) {
			wanted := func(at int) int {
				if i+1 == at {
					return 3
				}
				return 0
			}
			if got := strings.Count(part, "<root>"); got != wanted(tt.symbols) {
				t.Errorf("%s: part %d has %d symbols, want %d", tt.name, i+1, got, wanted(tt.symbols))
			}
			if got := strings.Count(part, "<numeral>"); got != wanted(tt.numerals) {
				t.Errorf("%s: part %d has %d numerals, want %d", tt.name, i+1, got, wanted(tt.numerals))
			}
			if got := strings.Contains(part, "<lyric"); got != (tt.sung && i+1 == tt.numerals) {
				t.Errorf("%s: part %d has lyrics: %t", tt.name, i+1, got)
			}
		}
		if len(staves[0].Symbols) != len(before[0].Symbols) || len(staves[3].Numerals) != len(before[3].Numerals) {
			t.Errorf("%s: writing has changed the staves that it was given", tt.name)
		}
	}
}

// A sheet has one title: what is added to the work's title stands with it (LilyPond 2.24 by its
// musicxml2ly prints both elements, Verovio 6.3 the second). A name of two voices stands in two
// lines where there is no room for one (W3C MusicXML 4.0, part-name-display).
func TestTitleAndNames(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5")
	for subtitle, want := range map[string]string{
		"": "<work-title>Evening</work-title>", "Evening, Level 1 of 3": "<movement-title>Evening, Level 1 of 3</movement-title>",
	} {
		data, err := sheet.Write(&sheet.Sheet{Title: "Evening", Subtitle: subtitle, Texture: texture, Staves: sheet.Closed(texture)})
		if err != nil {
			t.Fatal(err)
		}
		if text := string(data); strings.Count(text, "Evening") != 1 || !strings.Contains(text, want) {
			t.Errorf("want one title, %s, in %.300s", want, text)
		}
		if text := string(data); !strings.Contains(text, "<part-name>Tenor, Bass</part-name>") || !strings.Contains(text, "<display-text>Tenor,\nBass</display-text>") {
			t.Errorf("no name in two lines in %.900s", text)
		}
	}
}
