package sheet_test

import (
	"bytes"
	"slices"
	"strings"
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

// Numerals that begin with notes of the bass are its lyrics, and the figures are printed as
// figures, above them. Where a numeral begins between the notes of the bass the figures are
// printed as texts in one row above the numerals, since engravers print <figured-bass> and
// <harmony> over one another (seen in Verovio 6.3); they are read all the same.
func TestFiguresAboveNumerals(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F#3 A3 D4 C5 | G2 B3 D4 B4")
	bass := texture.Voices[3].Notes
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	tonic := harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad}}
	figures := []sheet.Figures{
		{Onset: bass[1].Onset, Stack: []theory.Figure{{Number: 6}, {Prefix: "flat", Number: 5}}},
		{Onset: bass[2].Onset, Stack: []theory.Figure{{Prefix: "sharp"}}},
	}
	for _, tt := range []struct {
		name           string
		at             []theory.Fraction
		lyrics, worded bool
	}{
		{"numerals at notes", []theory.Fraction{bass[0].Onset, bass[2].Onset}, true, false},
		{"a numeral between notes", []theory.Fraction{bass[0].Onset, bass[0].Duration.Mul(theory.Frac(1, 2))}, false, true},
		{"no numerals", nil, false, false},
	} {
		staves := sheet.Closed(texture)
		for _, at := range tt.at {
			staves[1].Numerals = append(staves[1].Numerals, harmony.Harmony{Reading: tonic, Onset: at})
		}
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: staves, Figures: figures})
		if err != nil {
			t.Fatal(err)
		}
		for text, want := range map[string]bool{
			">6\n\u266d5</words>": tt.worded, ">\u266f</words>": tt.worded, `<figured-bass print-object="no">`: tt.worded,
			"<text>C: I</text>": tt.lyrics, `<numeral-root text="">`: tt.lyrics, `<numeral-root text="C: I">`: tt.worded,
		} {
			if found := bytes.Contains(data, []byte(text)); found != want {
				t.Errorf("%s: %q is there: %v", tt.name, text, found)
			}
		}
		doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if got := doc.Score.Figures; len(got) != 2 || !slices.Equal(got[0].Figures, figures[0].Stack) || !slices.Equal(got[1].Figures, figures[1].Stack) {
			t.Errorf("%s: the figures are read as %+v", tt.name, got)
		}
		if got := doc.Score.Chords; len(got) != len(tt.at) || len(doc.Syllables(1)) > 0 {
			t.Errorf("%s: %d numerals and %d syllables are read, want %d and none", tt.name, len(got), len(doc.Syllables(1)), len(tt.at))
		}
		validate(t, data)
	}
}

// Every numeral comes back as it was written, though its own element prints nothing: kinds,
// degrees and what only its text says, in major and minor, of applied chords too.
func TestSungNumeralsAreRead(t *testing.T) {
	c := theory.PitchClass{Step: theory.C}
	for key, texts := range map[theory.Key]string{
		theory.MajorKey(c): "I ii65 V42 viio6 bVI N6 It6 Ger65 Fr43 Cad64 V7/V viio43/ii V",
		theory.MinorKey(c): "i ii/o65 V42 viio6 VI N6 It6 Ger65 Fr43 Cad64 V7/V viio7/iv III+ V",
	} {
		want := strings.Fields(texts)
		texture := theorytest.Chords(strings.TrimSuffix(strings.Repeat("C3 G3 E4 C5 | ", len(want)), " | "))
		staves := sheet.Closed(texture)
		for i, text := range want {
			n, err := harmony.ParseNumeral(text, key.Mode)
			if err != nil {
				t.Fatal(err)
			}
			r := harmony.Reading{Key: key, Numeral: n}
			want[i] = r.String()
			staves[1].Numerals = append(staves[1].Numerals, harmony.Harmony{Reading: r, Onset: texture.Voices[3].Notes[i].Onset})
		}
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: staves})
		if err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(data, []byte("<lyric ")); n != len(want) {
			t.Errorf("%d lyrics, want %d", n, len(want))
		}
		doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, a := range harmony.ScoreAnnotations(&theory.Texture{Score: doc.Score, Voices: texture.Voices}) {
			got = append(got, a.Text)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: read as %q, want %q", key, got, want)
		}
		validate(t, data)
	}
}
