package sheet

import (
	"strings"
	"testing"

	"partwright/theory"
)

// Notes of one beat share a beam; rests and beats part them. Common practice, no
// source.
func TestBeamsJoinTheNotesOfABeat(t *testing.T) {
	for _, tt := range []struct {
		why          string
		time         theory.TimeSignature
		onset, notes string // durations in quarter notes, r before a rest
		want         string // words of each onset that has beams, from the top beam
	}{
		{"quarters have no beam", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1 1", ""},
		{"two eighths on a beat", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1/2 1/2 1", "0:begin 1/2:end"},
		{"eighths of two beats", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1/2 1/2 1/2 1/2", "0:begin 1/2:end 1:begin 3/2:end"},
		{"an eighth alone on either side of a beat", theory.TimeSignature{Beats: 4, BeatType: 4}, "1/2", "1/2 1/2 r1", ""},
		{"a quarter over the middle of the measure, tied", theory.TimeSignature{Beats: 4, BeatType: 4}, "1", "1/2 1", "1:begin 3/2:end"},
		{"a rest between", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1/4 r1/4 1/2", ""},
		{"three eighths in compound metre", theory.TimeSignature{Beats: 6, BeatType: 8}, "0", "1/2 1/2 1/2", "0:begin 1/2:continue 1:end"},
		{"a dotted eighth and a sixteenth", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "3/4 1/4", "0:begin 3/4:end,backward hook"},
		{"a sixteenth first", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1/4 3/4", "0:begin,forward hook 1/4:end"},
		{"sixteenths after an eighth", theory.TimeSignature{Beats: 4, BeatType: 4}, "0", "1/2 1/4 1/4", "0:begin 1/2:continue,begin 3/4:end,end"},
	} {
		at, err := theory.ParseFraction(tt.onset)
		if err != nil {
			t.Fatal(err)
		}
		var layer []event
		for word := range strings.FieldsSeq(tt.notes) {
			duration, err := theory.ParseFraction(strings.TrimPrefix(word, "r"))
			if err != nil {
				t.Fatal(err)
			}
			e := event{onset: at, duration: duration}
			if !strings.HasPrefix(word, "r") {
				e.pitches = []theory.Pitch{theory.MustPitch("C4")}
			}
			layer, at = append(layer, e), at.Add(duration)
		}
		all := beams(nil, layer, &theory.Measure{Time: tt.time, Length: tt.time.Measure()})
		var got []string
		for _, e := range layer {
			if words := all[e.onset]; words != nil {
				got = append(got, e.onset.String()+":"+strings.Join(words, ","))
			}
		}
		if joined := strings.Join(got, " "); joined != tt.want {
			t.Errorf("%s: %q, want %q", tt.why, joined, tt.want)
		}
	}
}
