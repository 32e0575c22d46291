package worker

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/report"
)

func taskScore(t testing.TB, name string) *Input {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "tasks", name))
	if err != nil {
		t.Fatal(err)
	}
	return &Input{Name: name, Data: data}
}

// Each task is voiced, written, read again and checked: the given line is there
// note for note, and nothing is at fault.
func TestScoresAreVoiced(t *testing.T) {
	for _, tt := range []struct {
		request  VoiceRequest
		score    string
		numerals string
		// line is the given line in the written score, "" for none.
		voice int
		line  string
		why   string
	}{
		{VoiceRequest{}, "block-chords.musicxml", "I vi IV V vi ii V7 I", 3, "C A F G A D G C", "roots stay in the bass"},
		{VoiceRequest{}, "figured-bass.musicxml", "i V6 i i6 iv V VI iiø65 V7 i", 3, "D C# D F G A Bb A G A D", "the passing A stays"},
		{VoiceRequest{Style: "keyboard"}, "figured-bass.musicxml", "i V6 i i6 iv V VI iiø65 V7 i", 3, "D C# D F G A Bb A G A D", "at the keyboard"},
		{VoiceRequest{}, "melody-with-chords.musicxml", "I I6 ii6 Cad64 V7 I", 0, "B C D C A B A G", "a six-four over the dominant's bass is cadential"},
		{VoiceRequest{}, "melody.musicxml", "", 0, "B C D C A B A G", "chords are chosen"},
		{VoiceRequest{Ending: "imperfect", Gives: "bass", Key: "e"}, "melody.musicxml", "!", 0, "", "G is not the bass of a tonic in E minor"},
		{VoiceRequest{Density: 1, Seed: 3}, "melody.musicxml", "", 0, "B C D C A B A G", "the given line is not decorated"},
	} {
		tt.request.Score = taskScore(t, tt.score)
		result, err := (&Engine{}).Voice(t.Context(), tt.request)
		if tt.numerals == "!" {
			var wrong *RequestError
			if !errors.As(err, &wrong) {
				t.Errorf("%s: %v", tt.why, err)
			}
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", tt.why, err)
		}
		a := &result.Report.Alternatives[0]
		var numerals []string
		for _, c := range a.Chords {
			numerals = append(numerals, c.Numeral)
		}
		if got := strings.Join(numerals, " "); tt.numerals != "" && got != tt.numerals {
			t.Errorf("%s: %s, want %s", tt.why, got, tt.numerals)
		}
		if last := len(numerals) - 1; tt.numerals == "" && (numerals[0] != "I" || numerals[last] != "I" || !strings.HasPrefix(numerals[last-1], "V")) {
			t.Errorf("%s: %v neither begins with the tonic nor closes with a cadence", tt.why, numerals)
		}
		doc, err := musicxml.Read("sheet.musicxml", result.Sheets[0], musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		texture := separation.FindVoices(doc.Score)
		var line []string
		for _, n := range texture.Voices[tt.voice].Notes {
			line = append(line, n.Pitch.Class().String())
		}
		if got := strings.Join(line, " "); got != tt.line {
			t.Errorf("%s: %s, given was %s", tt.why, got, tt.line)
		}
		set := partwriting.RuleSetByName(partwriting.DefaultRuleSet)
		if tt.request.Style == "keyboard" {
			set = partwriting.RuleSetByName("keyboard")
		}
		for _, f := range partwriting.Check(texture, nil, set) {
			if f.Severity == partwriting.Fault {
				t.Errorf("%s: %s at %v", tt.why, f.Rule, f.Onset)
			}
		}
		if doc.Score.Title == "" || doc.Score.Measures[0].Time.String() == "" || len(doc.Score.Measures) > 4 {
			t.Errorf("%s: title %q, %d measures", tt.why, doc.Score.Title, len(doc.Score.Measures))
		}
	}
}

// Free inversions make a line of the roots that were written.
func TestBlockChordsWithAFreeBass(t *testing.T) {
	result, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Score: taskScore(t, "block-chords.musicxml"), Bass: "free"})
	if err != nil {
		t.Fatal(err)
	}
	chords := result.Report.Alternatives[0].Chords
	if !slices.ContainsFunc(chords, func(c report.VoicedChord) bool { return strings.Contains(c.Numeral, "6") }) {
		t.Error("a free bass takes no inversion")
	}
	if last := chords[len(chords)-1]; last.Numeral != "I" {
		t.Errorf("ends on %s", last.Numeral)
	}
}

func TestScoresThatCannotBeVoiced(t *testing.T) {
	engine := &Engine{}
	melody := string(taskScore(t, "melody.musicxml").Data)
	for _, tt := range []struct{ score, want, why string }{
		{strings.Replace(melody, "<step>D</step><octave>5", "<step>D</step><alter>2</alter><octave>5", 1), "No chord that harmonizes", "D double sharp is in no chord of G"},
		{"<score-partwise/>", "", "no score"},
	} {
		var input *musicxml.InputError
		_, err := engine.Voice(t.Context(), VoiceRequest{Score: &Input{Name: "melody.musicxml", Data: []byte(tt.score)}})
		if !errors.As(err, &input) || !strings.Contains(input.Problem, tt.want) {
			t.Errorf("%s: %v", tt.why, err)
		}
	}
	for _, r := range []VoiceRequest{{Gives: "opera"}, {Key: "H"}, {Bass: "loud"}} {
		r.Score = taskScore(t, "melody.musicxml")
		var wrong *RequestError
		if _, err := engine.Voice(t.Context(), r); !errors.As(err, &wrong) {
			t.Errorf("%+v: %v, want a request error", r, err)
		}
	}
}
