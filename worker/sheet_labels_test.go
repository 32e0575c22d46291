package worker

import (
	"bytes"
	"slices"
	"testing"
)

// A written exercise is a task like the one it was made from: read back, it asks for
// the same chords over the same line.
func TestExercisesReadBack(t *testing.T) {
	for _, tt := range []struct {
		request VoiceRequest
		why     string
	}{
		{VoiceRequest{Score: taskScore(t, "figured-bass.musicxml")}, "figures, one of them under a held note"},
		{VoiceRequest{Score: taskScore(t, "melody-with-chords.musicxml")}, "chord symbols over a melody"},
		{VoiceRequest{Score: taskScore(t, "melody.musicxml")}, "a melody and nothing else"},
		{VoiceRequest{Score: taskScore(t, "block-chords.musicxml")}, "the bass of block chords with its figures"},
		{VoiceRequest{Progression: "g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/# G2*2"}, "a bass as text, the leading tone raised by figures"},
		{VoiceRequest{Progression: "G: I V6 I IV V7*2 I", Exercise: "soprano"}, "numerals under a melody"},
		{VoiceRequest{Progression: "C: I V7/V V ii65 V42 I6 viio6 I"}, "an applied dominant and inverted sevenths"},
	} {
		want := tt.request
		if want.Exercise == "" {
			want.Exercise = "auto"
		}
		first, err := (&Engine{}).Voice(t.Context(), want)
		if err != nil {
			t.Fatalf("%s: %v", tt.why, err)
		}
		again, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Score: &Input{Name: "exercise.musicxml", Data: first.Exercise}, Exercise: want.Exercise})
		if err != nil {
			t.Fatalf("%s: %v", tt.why, err)
		}
		if got, want := again.Report.Numerals, first.Report.Numerals; !slices.Equal(got, want) {
			t.Errorf("%s: read back as %q, want %q", tt.why, got, want)
		}
		if !bytes.Equal(again.Exercise, first.Exercise) {
			t.Errorf("%s: the exercise of the exercise is another one", tt.why)
		}
	}
}

// An answer read back gives its own chords, by its numerals.
func TestAnswersReadBack(t *testing.T) {
	first, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Progression: "c: i viio7/V V65 i N6 V7 VI"})
	if err != nil {
		t.Fatal(err)
	}
	again, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Score: &Input{Name: "answer.musicxml", Data: first.Sheets[0]}})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := again.Report.Numerals, first.Report.Numerals; !slices.Equal(got, want) {
		t.Errorf("read back as %q, want %q", got, want)
	}
}

// What sheets say about chords and changes is switched on and off.
func TestSheetAnnotationsAreSwitched(t *testing.T) {
	for _, tt := range []struct {
		annotate                   string
		reasons                    bool
		numerals, figures, symbols int
		why                        string
	}{
		{"", false, 5, 0, 0, "an answer has numerals"},
		{"none", false, 0, 0, 0, "and none where none are wanted"},
		{"figures", false, 0, 2, 0, "figures under V6 and V7 alone"},
		{"numerals,symbols", true, 5, 0, 5, "both"},
	} {
		result, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Progression: "C: I V6 I V7 I", Annotate: tt.annotate, Reasons: tt.reasons})
		if err != nil {
			t.Fatal(err)
		}
		for element, want := range map[string]int{"<numeral>": tt.numerals, "<figured-bass>": tt.figures, "<root>": tt.symbols} {
			if got := bytes.Count(result.Sheets[0], []byte(element)); got != want {
				t.Errorf("%s: %d %s, want %d", tt.why, got, element, want)
			}
		}
		for _, words := range []string{"lt up", "7: seventh of the chord"} {
			if got := bytes.Contains(result.Sheets[0], []byte(words)); got != tt.reasons {
				t.Errorf("%s: %q %v, want %v", tt.why, words, got, tt.reasons)
			}
		}
	}
}
