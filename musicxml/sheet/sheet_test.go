package sheet_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// TestWrittenSheetsReadBack writes the same four voices in three layouts and
// reads them again: the notes are the same.
func TestWrittenSheetsReadBack(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G2 B3 D4 B4 | C3 C4 E4 C5 | F2 A3 F4 C5")
	c := theory.MajorKey(theory.PitchClass{Step: theory.C})
	var labels []harmony.Label
	for i, text := range []string{"I", "IV", "V", "I", "N6"} {
		numeral, err := harmony.ParseNumeral(text, theory.MajorMode)
		if err != nil {
			t.Fatal(err)
		}
		labels = append(labels, harmony.Label{Onset: theory.Whole(int64(i)), Reading: harmony.Reading{Key: c, Numeral: numeral}})
	}
	named := harmony.Assume(texture, labels).Harmonies
	for name, staves := range map[string][]sheet.Staff{
		"open": sheet.Open(texture), "closed": sheet.Closed(texture), "keyboard": sheet.Keyboard(texture),
	} {
		t.Run(name, func(t *testing.T) {
			staves[0].Symbols, staves[len(staves)-1].Numerals = named, named
			data, err := sheet.Write(&sheet.Sheet{Title: "Evening exercise", Texture: texture, Staves: staves,
				Figures: []sheet.Figures{{Onset: theory.Whole(1), Stack: []theory.Figure{{Prefix: "sharp", Number: 6}, {Number: 4}}}},
				Below:   []sheet.Label{{Onset: theory.Whole(1), Text: "IV"}}})
			if err != nil {
				t.Fatal(err)
			}
			doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			for _, n := range doc.Notices {
				t.Errorf("notice: %s", n.Message)
			}
			if got := len(doc.Score.Chords); got != 2*len(named) || len(doc.Score.Figures) != 1 {
				t.Errorf("%d numerals and symbols, %d figures; want %d and 1", got, len(doc.Score.Figures), 2*len(named))
			}
			got := separation.FindVoices(doc.Score)
			if len(got.Voices) != 4 {
				t.Fatalf("%d voices", len(got.Voices))
			}
			for v := range got.Voices {
				for i := range got.Voices[v].Notes {
					a, b := got.Voices[v].Notes[i], texture.Voices[v].Notes[i]
					if a.Pitch != b.Pitch || a.Onset != b.Onset || a.Duration != b.Duration {
						t.Errorf("voice %d note %d: %v at %v for %v, want %v at %v for %v", v, i, a.Pitch, a.Onset, a.Duration, b.Pitch, b.Onset, b.Duration)
					}
				}
			}
			validate(t, data)
		})
	}
}

// validate checks a document against the W3C MusicXML 4.0 schema where xmllint
// and the schema are at hand.
func validate(t *testing.T, data []byte) {
	t.Helper()
	schema, err := filepath.Abs("../../../shared/data/musicxml-schema")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(schema); err != nil {
		t.Log("schema not checked: ../shared/data/musicxml-schema is absent")
		return
	}
	if _, err := exec.LookPath("xmllint"); err != nil {
		t.Log("schema not checked: xmllint is absent")
		return
	}
	file := filepath.Join(t.TempDir(), "sheet.musicxml")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	command := exec.Command("xmllint", "--nonet", "--noout", "--schema", "musicxml.xsd", file)
	command.Dir = schema
	command.Env = append(os.Environ(), "XML_CATALOG_FILES=catalog.xml")
	if out, err := command.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, out)
	}
}

func TestBlankStaffHoldsRests(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
	staves := sheet.Open(texture)
	staves[1].Blank, staves[2].Blank = true, true
	data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: staves})
	if err != nil {
		t.Fatal(err)
	}
	doc, err := musicxml.Read("exercise.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if doc.Counts.Parts != 4 || doc.Counts.Notes != 4 {
		t.Errorf("%d parts, %d notes; want 4 parts with the outer voices' 4 notes", doc.Counts.Parts, doc.Counts.Notes)
	}
}

func TestAccidentalsLastForTheMeasure(t *testing.T) {
	texture := theorytest.Chords("F#4 | F#4 | F4 | Bb4 / F#4 | Bb4")
	data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Open(texture)})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range accidentals.FindAllSubmatch(data, -1) {
		got = append(got, string(m[1]))
	}
	want := []string{"sharp", "natural", "flat", "sharp", "flat"}
	if len(got) != len(want) {
		t.Fatalf("accidentals %v, want %v", got, want)
	}
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("accidental %d is %s, want %s", i, got[i], want[i])
		}
	}
}

var accidentals = regexp.MustCompile(`<accidental>([a-z-]+)</accidental>`)

// Two hands are joined by a brace, the staves of a choir by a bracket (Gould, Behind
// Bars, "Braces and brackets", from memory).
func TestHandsAreBraced(t *testing.T) {
	for symbol, layout := range map[string]func(*theory.Texture) []sheet.Staff{"brace": sheet.Keyboard, "bracket": sheet.Closed} {
		texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: layout(texture)})
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(data, []byte("<group-symbol>"+symbol+"</group-symbol>")) {
			t.Errorf("no %s", symbol)
		}
	}
}

// A right hand is written in as few layers as its rhythms need: what moves together is a
// chord on one stem (Gould, Behind Bars, "Double-stemmed writing", from memory).
func TestRightHandHasFewLayers(t *testing.T) {
	for _, tt := range []struct {
		moves  int // the voice that has a passing note
		layers int
		why    string
	}{
		{-1, 1, "all three move together"},
		{0, 2, "the top voice moves by itself"},
		{1, 3, "the middle voice does, and the others are no neighbors"},
		{2, 2, "the lowest of the hand does"},
	} {
		texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
		if tt.moves >= 0 {
			voice := &texture.Voices[tt.moves]
			half := voice.Notes[0]
			half.Duration = half.Duration.Mul(theory.Frac(1, 2))
			second := half
			second.Onset = half.End()
			voice.Notes = append([]theory.VoiceNote{half, second}, voice.Notes[1:]...)
		}
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Keyboard(texture)})
		if err != nil {
			t.Fatal(err)
		}
		hand, _, _ := bytes.Cut(data, []byte("</part>"))
		layers := map[string]bool{}
		for _, m := range regexp.MustCompile(`<voice>(\d)</voice>`).FindAllSubmatch(hand, -1) {
			layers[string(m[1])] = true
		}
		if len(layers) != tt.layers {
			t.Errorf("%s: %d layers, want %d", tt.why, len(layers), tt.layers)
		}
	}
}

// A note that begins off the beat and lasts longer than a beat is tied over the next one, a
// syncopation of a beat is not; in compound metres nothing goes over a beat that is not tied
// (Gould, Behind Bars, on ties and beats, from memory).
func TestTiesShowTheBeats(t *testing.T) {
	half, eighths := theory.Frac(1, 2), func(n int64) theory.Fraction { return theory.Frac(n, 2) }
	for _, tt := range []struct {
		time      theory.TimeSignature
		durations []theory.Fraction
		types     string
		why       string
	}{
		{theory.TimeSignature{Beats: 3, BeatType: 4}, []theory.Fraction{half, eighths(5)}, "eighth eighth half", "tied at the first beat"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{half, eighths(4), eighths(3)}, "eighth eighth quarter eighth eighth quarter", "no half note off the beat, and the middle can be seen"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{half, eighths(2), eighths(5)}, "eighth quarter eighth half", "a short syncopation stays"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{eighths(2), eighths(3), eighths(3)}, "quarter quarter eighth eighth quarter", "a note held over the middle is tied"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{eighths(2), eighths(4), eighths(2)}, "quarter half quarter", "a half note between quarters stays"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{eighths(2), eighths(6)}, "quarter half.", "and a dotted one to the end of the measure"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{eighths(6), eighths(2)}, "half. quarter", "what begins the measure stays"},
		{theory.TimeSignature{Beats: 4, BeatType: 4}, []theory.Fraction{eighths(3), half, eighths(4)}, "quarter. eighth half", "a dotted note on the beat stays"},
		{theory.TimeSignature{Beats: 6, BeatType: 8}, []theory.Fraction{eighths(2), eighths(2), eighths(2)}, "quarter eighth eighth quarter", "the middle of the measure can be seen"},
	} {
		voice := theory.Voice{Name: "S"}
		at := theory.Fraction{}
		for _, d := range tt.durations {
			voice.Notes = append(voice.Notes, theory.VoiceNote{Pitch: theory.MustPitch("G4"), Onset: at, Duration: d})
			at = at.Add(d)
		}
		score := &theory.Score{Measures: []theory.Measure{{Label: "1", Length: tt.time.Measure(), Time: tt.time}}}
		texture := &theory.Texture{Score: score, Voices: []theory.Voice{voice}}
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Open(texture)})
		if err != nil {
			t.Fatal(err)
		}
		var types []string
		for _, m := range regexp.MustCompile(`<type>(\w+)</type>\s*(<dot/>)?`).FindAllSubmatch(data, -1) {
			name := string(m[1])
			if len(m[2]) > 0 {
				name += "."
			}
			types = append(types, name)
		}
		if got := strings.Join(types, " "); got != tt.types {
			t.Errorf("%s: %q, want %q", tt.why, got, tt.types)
		}
		validate(t, data)
	}
}

// Versions one above the other have a bracket or brace each, so that what is said between
// them is crossed by no barline; five voices have full names, and the lower two of the upper
// staff one stem.
func TestVersionsAndManyVoices(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
	for symbol, layout := range map[string]func(*theory.Texture) []sheet.Staff{"brace": sheet.Keyboard, "bracket": sheet.Closed} {
		data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Beneath([]string{"1", "2", "3"}, []*theory.Texture{texture, theorytest.Chords("C3 C4 E4 G4 | G2 B3 D4 G4"), theorytest.Chords("C3 E4 G4 C5 | G2 D4 G4 B4")}, layout)})
		if err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(data, []byte("<group-symbol>"+symbol+"</group-symbol>")); n != 3 {
			t.Errorf("%d groups joined by a %s, want one a version", n, symbol)
		}
		validate(t, data)
	}
	five := theorytest.Chords("C3 G3 C4 E4 C5 | G2 G3 B3 D4 B4")
	for i, name := range []string{"S1", "S2", "A", "T", "B"} {
		five.Voices[i].Name = name
	}
	data, err := sheet.Write(&sheet.Sheet{Texture: five, Staves: sheet.Closed(five)})
	if err != nil {
		t.Fatal(err)
	}
	upper, _, _ := bytes.Cut(data, []byte("</part>"))
	if !bytes.Contains(data, []byte("<part-name>Soprano 1, Soprano 2, Alto</part-name>")) || bytes.Contains(upper, []byte("<voice>3</voice>")) || bytes.Count(upper, []byte("<chord/>")) != 2 {
		t.Errorf("the upper three of five voices are %s", upper)
	}
}

// The lines of a label are directions of their own, since some programs set those of one text
// side by side; the first line is the top one, above the staff as below it.
func TestLinesOfLabels(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | G2 B3 D4 B4")
	label := []sheet.Label{{Onset: theory.Whole(1), Text: "first\nsecond"}}
	for placement, page := range map[string]sheet.Sheet{"above": {Above: label}, "below": {Below: label}} {
		page.Texture, page.Staves = texture, sheet.Closed(texture)
		data, err := sheet.Write(&page)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, m := range regexp.MustCompile(`<direction placement="`+placement+`">\s*<direction-type>\s*<words[^>]*>(\w+)</words>`).FindAllSubmatch(data, -1) {
			got = append(got, string(m[1]))
		}
		if want := map[string]string{"above": "second first", "below": "first second"}[placement]; strings.Join(got, " ") != want {
			t.Errorf("%s: %q, want %q from the staff on", placement, got, want)
		}
	}
}
