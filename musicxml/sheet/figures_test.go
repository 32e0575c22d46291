package sheet_test

import (
	"bytes"
	"slices"
	"testing"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// Figures come back where they were set: under a note, changing under a held one,
// and after its beginning. The upper staves are there and empty.
func TestFiguresReadBack(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F#3 A3 D4 C5 | G2 B3 D4 B4 | D3 A3 D4 F#4")
	bass := texture.Voices[3].Notes
	half := bass[0].Duration.Div(theory.Whole(2))
	six, seven := []theory.Figure{{Number: 6}, {Number: 5}}, []theory.Figure{{Number: 7}}
	third := []theory.Figure{{Prefix: "sharp"}}
	want := []sheet.Figures{
		{Onset: bass[1].Onset, Stack: six},             // under a note
		{Onset: bass[2].Onset, Stack: seven},           // changes under the note,
		{Onset: bass[2].Onset.Add(half), Stack: six},   // which goes on
		{Onset: bass[3].Onset.Add(half), Stack: third}, // begins after the note
	}
	data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Exercise(sheet.Open(texture), []int{3}), Figures: want})
	if err != nil {
		t.Fatal(err)
	}
	doc, err := musicxml.Read("exercise.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var got []theory.GivenFigures
	for _, f := range doc.Score.Figures {
		if f.Figures[0] != (theory.Figure{}) { // else it holds the place before figures that come later
			got = append(got, f)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d stacks of figures, want %d: %+v", len(got), len(want), got)
	}
	for i := range want {
		if got[i].Onset != want[i].Onset || !slices.Equal(got[i].Figures, want[i].Stack) || got[i].Part != 3 {
			t.Errorf("stack %d is %v at %v in part %d, want %v at %v under the bass", i, got[i].Figures, got[i].Onset, got[i].Part, want[i].Stack, want[i].Onset)
		}
	}
	if doc.Counts.Parts != 4 || doc.Counts.Notes != len(bass) {
		t.Errorf("%d parts with %d notes, want 4 with those of the bass", doc.Counts.Parts, doc.Counts.Notes)
	}
	if n := bytes.Count(data, []byte(`print-object="no"`)); n < 3 {
		t.Errorf("%d measures left blank to write in", n)
	}
	validate(t, data)
}

// A layout of two staves shows the given voice of a staff alone.
func TestExerciseShowsGivenVoices(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
	staves := sheet.Exercise(sheet.Closed(texture), []int{0})
	if !slices.Equal(staves[0].Voices, []int{0}) || staves[0].Blank || !staves[1].Blank {
		t.Errorf("%+v, want the soprano over an empty staff", staves)
	}
	if whole := sheet.Closed(texture); len(whole[0].Voices) != 2 {
		t.Error("the layout itself has changed")
	}
}

// Where numerals stand under the same staff the figures are printed as texts in one row above
// them, since engravers print <figured-bass> and <harmony> over one another (seen in
// Verovio 6.3); they are read all the same.
func TestFiguresAboveNumerals(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F#3 A3 D4 C5 | G2 B3 D4 B4")
	bass := texture.Voices[3].Notes
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	tonic := harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad}}
	figures := []sheet.Figures{
		{Onset: bass[1].Onset, Stack: []theory.Figure{{Number: 6}, {Prefix: "flat", Number: 5}}},
		{Onset: bass[2].Onset, Stack: []theory.Figure{{Prefix: "sharp"}}},
	}
	for _, numerals := range []bool{true, false} {
		staves := sheet.Closed(texture)
		if numerals {
			staves[1].Numerals = []harmony.Harmony{{Reading: tonic, Onset: bass[0].Onset}}
		}
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: staves, Figures: figures})
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{">6\n\u266d5</words>", ">\u266f</words>", `<figured-bass print-object="no">`} {
			if found := bytes.Contains(data, []byte(text)); found != numerals {
				t.Errorf("with numerals %v: %q is there: %v", numerals, text, found)
			}
		}
		doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if got := doc.Score.Figures; len(got) != 2 || !slices.Equal(got[0].Figures, figures[0].Stack) || !slices.Equal(got[1].Figures, figures[1].Stack) {
			t.Errorf("with numerals %v: the figures are read as %+v", numerals, got)
		}
		validate(t, data)
	}
}
