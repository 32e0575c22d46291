package worker

import (
	"bytes"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gitlab.com/gomidi/midi/mid"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/worker/answer"
)

// The tempo marks of a score stand in every sheet made of it, and its MIDI file plays them
// (read by the library's own reader).
func TestTempoIsCarried(t *testing.T) {
	score, err := os.ReadFile("../testdata/tasks/melody-with-chords.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	const mark = `<direction placement="above"><direction-type><words>Andante</words></direction-type><direction-type><metronome>` +
		`<beat-unit>quarter</beat-unit><per-minute>66</per-minute></metronome></direction-type><sound tempo="66"/></direction>`
	text := strings.Replace(string(score), "<note", mark+"<note", 1)
	second := strings.Index(text, `<measure number="2"`)
	text = text[:second] + strings.Replace(text[second:], "<note", `<sound tempo="50"/><note`, 1)
	in := Input{Name: "tune.musicxml", Data: []byte(text)}
	given, err := musicxml.Read(in.Name, in.Data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if len(given.Score.Tempos) != 2 {
		t.Fatalf("%d tempos are read, want 2", len(given.Score.Tempos))
	}
	result, _ := voiced(t, in, "levels", "2", "compare", "true", "alternatives", "2", "exercise", "auto")
	for _, kind := range []answer.Kind{answer.Voiced, answer.Level, answer.Compared, answer.Exercise} {
		for i, data := range scoresOf(result, kind) {
			doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(given.Score.Tempos, doc.Score.Tempos, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
				t.Errorf("%v %d (-want +got):\n%s", kind, i, diff)
			}
		}
	}
	data, err := result.MIDI()
	if err != nil {
		t.Fatal(err)
	}
	var played []float64
	r := mid.NewReader(mid.NoLogger())
	r.Msg.Meta.TempoBPM = func(_ mid.Position, quarters float64) { played = append(played, math.Round(quarters)) }
	if err := r.ReadAllSMF(bytes.NewReader(data)); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]float64{66, 50}, played); diff != "" {
		t.Errorf("played (-want +got):\n%s", diff)
	}
}
