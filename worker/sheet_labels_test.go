package worker

import (
	"bytes"
	"slices"
	"strconv"
	"testing"

	"partwright/worker/answer"
)

// A written exercise is a task like the one it was made from: read back, it asks for
// the same chords over the same line.
func TestExercisesReadBack(t *testing.T) {
	for _, tt := range []struct {
		in    Input
		pairs []string
		why   string
	}{
		{taskScore(t, "figured-bass.musicxml"), nil, "figures, one of them under a held note"},
		{taskScore(t, "melody-with-chords.musicxml"), nil, "chord symbols over a melody"},
		{taskScore(t, "melody.musicxml"), nil, "a melody and nothing else"},
		{taskScore(t, "block-chords.musicxml"), nil, "the bass of block chords with its figures"},
		{Input{}, []string{"progression", "g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/# G2*2"}, "a bass as text, the leading tone raised by figures"},
		{Input{}, []string{"progression", "G: I V6 I IV V7*2 I", "exercise", "soprano"}, "numerals under a melody"},
		{Input{}, []string{"progression", "C: I V7/V V ii65 V42 I6 viio6 I"}, "an applied dominant and inverted sevenths"},
	} {
		exercise := "auto"
		if at := slices.Index(tt.pairs, "exercise"); at >= 0 {
			exercise = tt.pairs[at+1]
		} else {
			tt.pairs = append(tt.pairs, "exercise", exercise)
		}
		first, asked := voiced(t, tt.in, tt.pairs...)
		again, read := voiced(t, Input{Name: "exercise.musicxml", Data: scoreOf(first, answer.Exercise)}, "exercise", exercise)
		if got, want := read.Numerals, asked.Numerals; !slices.Equal(got, want) {
			t.Errorf("%s: read back as %q, want %q", tt.why, got, want)
		}
		if !bytes.Equal(scoreOf(again, answer.Exercise), scoreOf(first, answer.Exercise)) {
			t.Errorf("%s: the exercise of the exercise is another one", tt.why)
		}
	}
}

// An answer read back gives its own chords, by its numerals.
func TestAnswersReadBack(t *testing.T) {
	for _, progression := range []string{
		"c: i viio7/V V65 i N6 V7 VI", "a: i viio6 i6 viio65/iv iv Ger65 V i", "C: I bVI N6 V I viio65/ii ii viio6/V V I", "d: i IV6 viio6 i",
	} {
		first, asked := voiced(t, Input{}, "progression", progression)
		_, read := voiced(t, Input{Name: "answer.musicxml", Data: scoreOf(first, answer.Voiced)})
		if got, want := read.Numerals, asked.Numerals; !slices.Equal(got, want) {
			t.Errorf("read back as %q, want %q", got, want)
		}
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
		{"auto", false, 5, 0, 0, "an answer has numerals"},
		{"none", false, 0, 0, 0, "and none where none are wanted"},
		{"figures", false, 0, 2, 0, "figures under V6 and V7 alone"},
		{"numerals,symbols", true, 5, 0, 5, "both"},
	} {
		result, _ := voiced(t, Input{}, "progression", "C: I V6 I V7 I", "annotate", tt.annotate, "reasons", strconv.FormatBool(tt.reasons))
		page := scoreOf(result, answer.Voiced)
		for element, want := range map[string]int{"<numeral>": tt.numerals, "<figured-bass>": tt.figures, "<root>": tt.symbols} {
			if got := bytes.Count(page, []byte(element)); got != want {
				t.Errorf("%s: %d %s, want %d", tt.why, got, element, want)
			}
		}
		for _, words := range []string{"lt up", "7: seventh of the chord"} {
			if got := bytes.Contains(page, []byte(words)); got != tt.reasons {
				t.Errorf("%s: %q %v, want %v", tt.why, words, got, tt.reasons)
			}
		}
	}
}
