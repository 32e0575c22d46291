package classroom_test

import (
	"context"
	"regexp"
	"strings"
	"testing"

	"partwright/worker"
	"partwright/worker/classroom"
)

// edit changes the notes of one voice in the second part of a score in closed score, the
// tenor (1) or the bass (2).
func edit(score, voice string, change func(note string) string) string {
	at := strings.Index(score, `<part id="P2">`)
	notes := regexp.MustCompile(`(?s)<note>.*?</note>`)
	return score[:at] + notes.ReplaceAllStringFunc(score[at:], func(note string) string {
		if !strings.Contains(note, "<voice>"+voice+"</voice>") {
			return note
		}
		return change(note)
	})
}

// A voice that nobody has written is no answer in full, and a given line in another octave
// is neither another key nor another piece: what is handed in says what is wrong with it
// (common practice, no source).
func TestVoicesThatAreMissingOrAnOctaveAway(t *testing.T) {
	a := quiz(t)
	marker, err := classroom.NewMarker(context.Background(), a, &worker.Engine{})
	if err != nil {
		t.Fatal(err)
	}
	model := a.Models[0].Text
	pitch := regexp.MustCompile(`(?s)<pitch>.*?</pitch>`)
	for _, tt := range []struct {
		why, score string
		state      classroom.State
		message    string
	}{
		{"the model answer", model, classroom.Whole, ""},
		{"without a tenor", edit(model, "1", func(n string) string { return pitch.ReplaceAllString(n, "<rest/>") }), classroom.Unfinished, "3 of 4"},
		{"the bass an octave up", edit(model, "2", func(n string) string {
			return strings.NewReplacer("<octave>2<", "<octave>3<", "<octave>3<", "<octave>4<").Replace(n)
		}), classroom.GivenChanged, "another octave"},
	} {
		marking, err := marker.Mark(context.Background(), []byte(tt.score), nil)
		if err != nil {
			t.Fatal(err)
		}
		if marking.State != tt.state || !strings.Contains(marking.Message, tt.message) || (marking.Proposed != nil) != (tt.state == classroom.Whole) {
			t.Errorf("%s is %s, %q, proposed %v; want %s and %q", tt.why, marking.State, marking.Message, marking.Proposed, tt.state, tt.message)
		}
	}
}
