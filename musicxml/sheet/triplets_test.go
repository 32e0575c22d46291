package sheet

import (
	"fmt"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/separation"
)

// A third of a beat is an eighth of a triplet, three in the time of two under one bracket;
// what reaches over a beat is tied, so that each triplet fills its beat or its half measure
// (W3C MusicXML 4.0, time-modification and tuplet; Gould, Behind Bars, on tuplets, from
// memory).
func TestTripletsAreWritten(t *testing.T) {
	for _, tt := range []struct {
		why, notes string // durations in quarter notes, r before a rest
		want       string // note values, ' for those of a triplet, ( and ) for its bracket, ~ for a tie
	}{
		{"a beat", "1/3 1/3 1/3 1 2", "(eighth' eighth' eighth') quarter half"},
		{"long and short", "2/3 1/3 2 1", "(quarter' eighth') half quarter"},
		{"short and long", "1/3 2/3 1 2", "(eighth' quarter') quarter half"},
		{"two beats", "2/3 2/3 2/3 2", "(quarter' quarter' quarter') half"},
		{"a half note in two beats", "4/3 2/3 2", "(half' quarter') half"},
		{"in two beats, in halves", "1/3 1/3 2/3 1/3 1/3 2", "(eighth' eighth' quarter' eighth' eighth') half"},
		{"over the beat", "1/3 1 2/3 2", "(eighth' quarter')~(eighth' quarter') half"},
		{"a quarter and a third", "1 1/3 1/3 1/3 2", "quarter (eighth' eighth' eighth') half"},
		{"from the beat into a triplet", "1 4/3 2/3 1", "quarter quarter~(eighth' quarter') quarter"},
		{"a rest in it", "1/3 r1/3 1/3 1 2", "(eighth' rest' eighth') quarter half"},
		{"sixteenths", "1/6 1/6 1/6 1/2 1 2", "(16th' 16th' 16th') eighth quarter half"},
	} {
		texture, durations := lineOf(t, tt.notes)
		data, err := Write(&Sheet{Texture: texture, Staves: Open(texture)})
		if err != nil {
			t.Errorf("%s: %v", tt.why, err)
			continue
		}
		if got := writtenValues(string(data)); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.why, got, tt.want)
		}
		doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		var read []string
		for _, n := range separation.FindVoices(doc.Score).Voices[0].Notes {
			read = append(read, n.Duration.String())
		}
		if strings.Join(read, " ") != durations || len(doc.Notices) > 0 {
			t.Errorf("%s: read as %v with %v, want %s", tt.why, read, doc.Notices, durations)
		}
	}
	for _, notes := range []string{"1/5 4/5 3", "1/9 8/9 3", "1/7 6/7 3"} {
		texture, _ := lineOf(t, notes)
		if _, err := Write(&Sheet{Texture: texture, Staves: Open(texture)}); err == nil || !strings.Contains(err.Error(), "a duration of "+strings.Fields(notes)[0]) {
			t.Errorf("%s: %v", notes, err)
		}
	}
}

// lineOf is a measure of 4/4 with one voice, and the durations of its notes.
func lineOf(t *testing.T, notes string) (texture *theory.Texture, durations string) {
	t.Helper()
	time := theory.TimeSignature{Beats: 4, BeatType: 4}
	score := &theory.Score{Resolution: 42, Measures: []theory.Measure{{Label: "1", Length: theory.Whole(4), Time: time}}}
	score.Parts = []theory.Part{{ID: "P1", Name: "Soprano", Staves: 1, Layers: []string{"1"}}}
	voice := theory.Voice{Name: "Soprano", Staff: 1}
	at := theory.Fraction{}
	for word := range strings.FieldsSeq(notes) {
		d, err := theory.ParseFraction(strings.TrimPrefix(word, "r"))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(word, "r") {
			voice.Notes = append(voice.Notes, theory.VoiceNote{Pitch: theory.MustPitch("C5"), Onset: at, Duration: d})
			durations = strings.TrimSpace(durations + " " + d.String())
		}
		at = at.Add(d)
	}
	return theory.NewTexture(score, theory.OpenScore, "written by hand", []theory.Voice{voice}), durations
}

// writtenValues are the note values of a document in order.
func writtenValues(data string) string {
	out := ""
	for _, n := range strings.Split(data, "<note")[1:] {
		kind := n[strings.Index(n, "<type>")+len("<type>") : strings.Index(n, "</type>")]
		if strings.Contains(n, "<rest") {
			kind = "rest"
		}
		if strings.Contains(n, "<normal-notes>2</normal-notes>") {
			kind += "'"
		}
		if strings.Contains(n, `<tuplet type="start"`) {
			kind = "(" + kind
		}
		if strings.Contains(n, `<tuplet type="stop"`) {
			kind += ")"
		}
		if strings.Contains(n, `<tie type="stop"`) {
			out = strings.TrimSuffix(out, " ") + "~"
		}
		out += fmt.Sprint(kind, " ")
	}
	return strings.TrimSpace(out)
}
