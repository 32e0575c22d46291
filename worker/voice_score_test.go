package worker

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

func taskScore(t testing.TB, name string) Input {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "tasks", name))
	if err != nil {
		t.Fatal(err)
	}
	return Input{Name: name, Data: data}
}

// Each task is voiced, written, read again and checked: the given line is there
// note for note, and nothing is at fault.
func TestScoresAreVoiced(t *testing.T) {
	for _, tt := range []struct {
		pairs    []string
		score    string
		numerals string
		// line is the given line in the written score, "" for none.
		voice int
		line  string
		why   string
	}{
		{nil, "block-chords.musicxml", "I vi IV V vi ii V7 I", 3, "C A F G A D G C", "roots stay in the bass"},
		{nil, "figured-bass.musicxml", "i V6 i i6 iv V VI iiø65 V7 i", 3, "D C# D F G A Bb A G A D", "the passing A stays"},
		{[]string{"style", "keyboard"}, "figured-bass.musicxml", "i V6 i i6 iv V VI iiø65 V7 i", 3, "D C# D F G A Bb A G A D", "at the keyboard"},
		{nil, "melody-with-chords.musicxml", "I I6 ii6 Cad64 V7 I", 0, "B C D C A B A G", "a six-four over the dominant's bass is cadential"},
		{nil, "melody.musicxml", "", 0, "B C D C A B A G", "chords are chosen"},
		{[]string{"ending", "imperfect", "gives", "bass", "key", "e"}, "melody.musicxml", "!", 0, "", "G is not the bass of a tonic in E minor"},
		{[]string{"density", "1", "seed", "3"}, "melody.musicxml", "", 0, "B C D C A B A G", "the given line is not decorated"},
	} {
		if tt.numerals == "!" {
			if _, err := do(taskScore(t, tt.score), &request.Voice{}, tt.pairs...); !refused(err, "") {
				t.Errorf("%s: %v", tt.why, err)
			}
			continue
		}
		result, said := voiced(t, taskScore(t, tt.score), tt.pairs...)
		a := &said.Alternatives[0]
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
		doc, err := musicxml.Read("sheet.musicxml", scoreOf(result, answer.Voiced), musicxml.Limits{})
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
		if slices.Contains(tt.pairs, "keyboard") {
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

// A rest between block chords stays one, in all voices; a chord sounds as long as it is
// written.
func TestRestsBetweenBlockChordsStay(t *testing.T) {
	chord := func(steps string, quarters int) string {
		var b strings.Builder
		for i, step := range strings.Split(steps, "") {
			b.WriteString("<note>")
			if i > 0 {
				b.WriteString("<chord/>")
			}
			fmt.Fprintf(&b, "<pitch><step>%s</step><octave>4</octave></pitch><duration>%d</duration></note>", step, quarters)
		}
		return b.String()
	}
	rest := "<note><rest/><duration>1</duration></note>"
	result, said := voiced(t, leadSheet(rest+chord("CEG", 1)+rest+chord("GBD", 1), chord("GBD", 1)+rest+chord("CEG", 2)))
	if n := len(said.Alternatives[0].Chords); n != 4 {
		t.Fatalf("%d chords, four are written", n)
	}
	doc, err := musicxml.Read("sheet.musicxml", scoreOf(result, answer.Voiced), musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	texture := separation.FindVoices(doc.Score)
	for v := range texture.Voices {
		var sounds []string
		for _, n := range texture.Voices[v].Notes {
			sounds = append(sounds, n.Onset.String()+"-"+n.End().String())
		}
		if got := strings.Join(sounds, " "); got != "1-2 3-4 4-5 6-8" {
			t.Errorf("voice %d sounds %s, the chords are written 1-2 3-4 4-5 6-8", v+1, got)
		}
	}
}

// Free inversions make a line of the roots that were written.
func TestBlockChordsWithAFreeBass(t *testing.T) {
	_, said := voiced(t, taskScore(t, "block-chords.musicxml"), "bass", "free")
	chords := said.Alternatives[0].Chords
	if !slices.ContainsFunc(chords, func(c report.VoicedChord) bool { return strings.Contains(c.Numeral, "6") }) {
		t.Error("a free bass takes no inversion")
	}
	if last := chords[len(chords)-1]; last.Numeral != "I" {
		t.Errorf("ends on %s", last.Numeral)
	}
}

func TestScoresThatCannotBeVoiced(t *testing.T) {
	melody := string(taskScore(t, "melody.musicxml").Data)
	for _, tt := range []struct{ score, want, why string }{
		{strings.Replace(melody, "<step>D</step><octave>5", "<step>D</step><alter>2</alter><octave>5", 1), "No chord that harmonizes", "D double sharp is in no chord of G"},
		{"<score-partwise/>", "", "no score"},
	} {
		var input *musicxml.InputError
		_, err := do(Input{Name: "melody.musicxml", Data: []byte(tt.score)}, &request.Voice{})
		if !errors.As(err, &input) || !strings.Contains(input.Problem, tt.want) {
			t.Errorf("%s: %v", tt.why, err)
		}
	}
	for field, text := range map[string]string{"gives": "opera", "key": "H", "bass": "loud"} {
		if _, err := do(taskScore(t, "melody.musicxml"), &request.Voice{}, field, text); !refused(err, field) {
			t.Errorf("%s %s: %v, want a request error", field, text, err)
		}
	}
	for field, text := range map[string]string{"gives": "bass", "key": "C"} {
		if _, err := do(Input{}, &request.Voice{}, "progression", "C: I V I", field, text); !refused(err, "") {
			t.Errorf("%s %s of a text: %v, want a request error", field, text, err)
		}
	}
}
