package worker

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

func readSheet(t *testing.T, data []byte) *musicxml.Document {
	t.Helper()
	doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// The sheet that compares holds the staves of every alternative, its top line in
// each as it is by itself, and says why over the chords.
func TestComparedAlternatives(t *testing.T) {
	plan, err := planned(&request.Voice{}, "progression", "C: I vi ii6 V7*2 I", "alternatives", "3", "compare", "true", "title", "Evening")
	if err != nil {
		t.Fatal(err)
	}
	engine := &Engine{}
	result, err := engine.Do(t.Context(), Input{}, plan)
	if err != nil {
		t.Fatal(err)
	}
	job := &voicingJob{VoicePlan: plan}
	if err := errors.Join(engine.setProblem(t.Context(), job, &Input{}), job.solve(t.Context(), "")); err != nil {
		t.Fatal(err)
	}
	compared := scoreOf(result, answer.Compared)
	doc := readSheet(t, compared)
	if doc.Counts.Parts != 6 || doc.Score.Title != "Evening, Ways to voice it" || bytes.Contains(compared, []byte("<work-title>")) {
		t.Fatalf("%d parts, title %q; two staves for each of three", doc.Counts.Parts, doc.Score.Title)
	}
	if len(job.solutions) != 3 {
		t.Fatalf("%d voicings", len(job.solutions))
	}
	for i := range job.solutions {
		var line []theory.Pitch
		for _, n := range doc.Score.Notes {
			if int(n.Part) == 2*i && n.Layer == 0 && n.Sounds() && !n.Flags.Has(theory.TieStop) {
				line = append(line, n.Pitch)
			}
		}
		for k, n := range job.plain(i).Voices[0].Notes {
			if line[k] != n.Pitch {
				t.Errorf("alternative %d, note %d is %v, want %v", i+1, k+1, line[k], n.Pitch)
			}
		}
	}
	for _, words := range []string{"<movement-title>Evening, Ways to voice it<", "7 down", "lt up", " =<", "C: I", "contr.: all"} {
		if strings.Count(string(compared), words) < 1 {
			t.Errorf("nowhere %q", words)
		}
	}
}

// The first voicing says what it is like, every other one what distinguishes it and how
// much more it costs, in words that no table has to explain, in a key that begins with the
// first measure. Before its staves stands its number alone: engravers give a name less room
// than words want (LilyPond 2.24 by its musicxml2ly begins them off the page).
func TestComparedVoicingsSayWhatDistinguishesThem(t *testing.T) {
	result, said := voiced(t, Input{}, "progression", "C: I vi ii6 V7*2 I", "alternatives", "3", "compare", "true", "reasons", "true")
	compared := string(scoreOf(result, answer.Compared))
	var before, names []string
	for _, name := range regexp.MustCompile(`<part-name>([^<]+)`).FindAllStringSubmatch(compared, -1) {
		before = append(before, name[1])
	}
	if want := []string{"1", "2", "3"}; !slices.Equal(before, want) {
		t.Errorf("before the staves stands %q, want %q", before, want)
	}
	lowest := compared[strings.LastIndex(compared, "<part id="):]
	firstMeasure, _, _ := strings.Cut(lowest, "</measure>")
	for _, line := range regexp.MustCompile(`<words[^>]*>([123]: [^<]*)`).FindAllStringSubmatch(firstMeasure, -1) {
		names = append(names, line[1])
	}
	if len(names) == 0 || !strings.HasPrefix(names[0], "1: the top voice ends on the root; mostly in ") {
		t.Fatalf("nothing says what the first voicing is like: %q", names)
	}
	for i, a := range said.Alternatives[1:] {
		if want := fmt.Sprintf("costs %g more", math.Round((a.Cost-said.Alternatives[0].Cost)*100)/100); i+1 >= len(names) || !strings.Contains(names[i+1], want) || !strings.Contains(names[i+1], a.Character[0]) {
			t.Errorf("voicing %d: nowhere %q and %q", i+2, a.Character[0], want)
		}
	}
	for _, charge := range voicing.ChargeNames() {
		if strings.Contains(charge, "-") && strings.Contains(compared, charge) {
			t.Errorf("the sheet says %q", charge)
		}
	}
	if !bytes.Contains(scoreOf(result, answer.Voiced), []byte("lt up")) {
		t.Error("the sheet of a voicing lacks the reasons that were asked for")
	}
	plain, _ := voiced(t, Input{}, "progression", "C: I vi ii6 V7*2 I")
	if bytes.Contains(scoreOf(plain, answer.Voiced), []byte("lt up")) {
		t.Error("reasons that nobody asked for")
	}
}

// From plain to florid the same chords take more and more notes, each with a sign.
func TestLevelsFromPlainToFlorid(t *testing.T) {
	result, _ := voiced(t, Input{}, "progression", "C: I IV V I vi ii V7 I", "levels", "3", "seed", "1")
	levels := scoresOf(result, answer.Level)
	if len(levels) != 3 {
		t.Fatalf("%d levels", len(levels))
	}
	last := 0
	for i, data := range levels {
		n := readSheet(t, data).Counts.Notes
		if n <= last {
			t.Errorf("level %d has %d notes, the one before %d", i+1, n, last)
		}
		last = n
	}
	if !bytes.Contains(levels[2], []byte(">p<")) && !bytes.Contains(levels[2], []byte(" p<")) {
		t.Error("no passing note has its sign")
	}
	if !bytes.Contains(levels[2], []byte("Level 3 of 3")) || !bytes.Contains(levels[2], []byte("p: passing note")) {
		t.Error("the sheet does not say which level it is and what its signs mean")
	}
	// Each sign that stands over or under a note is explained, and no other, a line each.
	used, explained := map[string]bool{}, map[string]bool{}
	for _, words := range regexp.MustCompile(`<words[^>]*>([^<]*)`).FindAllSubmatch(levels[2], -1) {
		sign, meaning, keyed := strings.Cut(string(words[1]), ": ")
		switch {
		case keyed && (strings.Contains(meaning, ":") || explained[sign]):
			t.Errorf("a line of the key is %q", words[1])
		case keyed:
			explained[sign] = true
		default:
			used[sign[strings.LastIndexByte(sign, ' ')+1:]] = true
		}
	}
	if !maps.Equal(used, explained) {
		t.Errorf("signs are %v, explained are %v", used, explained)
	}
	if _, err := do(Input{}, &request.Voice{}, "progression", "C: I V I", "levels", "1"); !refused(err, "levels") {
		t.Errorf("one level: %v", err)
	}
}

// An exercise shows the given line and nothing else of the answer: figures under a
// bass, with a melody the symbols that came with it or else numerals, nothing where
// the pupil is to choose the chords.
func TestExerciseKeepsTheGivenLine(t *testing.T) {
	for _, tt := range []struct {
		name, shows string
		parts       []int32
		figures     int
		labels      string
	}{
		{"melody.musicxml", "auto", []int32{0}, 0, ""},
		{"melody-with-chords.musicxml", "auto", []int32{0}, 0, "root"},
		{"figured-bass.musicxml", "auto", []int32{3}, 5, ""},
		{"figured-bass.musicxml", "soprano", []int32{0}, 0, "numeral"},
		{"block-chords.musicxml", "auto", []int32{3}, 1, ""},
		{"block-chords.musicxml", "outer", []int32{0, 3}, 1, ""},
	} {
		result, _ := voiced(t, taskScore(t, tt.name), "exercise", tt.shows)
		exercise := scoreOf(result, answer.Exercise)
		doc := readSheet(t, exercise)
		sounding := map[int32]bool{}
		for _, n := range doc.Score.Notes {
			if n.Sounds() {
				sounding[n.Part] = true
			}
		}
		for _, part := range tt.parts {
			if !sounding[part] || len(sounding) != len(tt.parts) {
				t.Errorf("%s, %s: parts %v have notes, want %v", tt.name, tt.shows, sounding, tt.parts)
			}
		}
		if got := len(doc.Score.Figures); got != tt.figures {
			t.Errorf("%s, %s: figures under %d notes, want %d", tt.name, tt.shows, got, tt.figures)
		}
		for _, label := range []string{"numeral", "root"} {
			if got := bytes.Contains(exercise, []byte("<"+label+">")); got != (label == tt.labels) {
				t.Errorf("%s, %s: <%s> %v, want only <%s>", tt.name, tt.shows, label, got, tt.labels)
			}
		}
		if doc := readSheet(t, scoreOf(result, answer.Voiced)); doc.Counts.Parts != 2 {
			t.Errorf("%s: the answer stands on %d staves", tt.name, doc.Counts.Parts)
		}
	}
	if _, err := do(Input{}, &request.Voice{}, "progression", "C: I V I", "exercise", "tenor"); !refused(err, "exercise") {
		t.Errorf("an exercise for the tenor: %v", err)
	}
}

// A pupil who leads the voices of an exercise as the answer does gets the answer: the
// figures and lines of the exercise say all that the task said, chord by chord; figures
// do not tell V42/III from VII42.
func TestExerciseLeadsToItsAnswer(t *testing.T) {
	for name, tt := range map[string]struct {
		in                 Input
		progression, style string
	}{
		"a bass with figures":        {taskScore(t, "figured-bass.musicxml"), "", "keyboard"},
		"a melody":                   {taskScore(t, "melody.musicxml"), "", "chorale"},
		"a bass of secondary chords": {Input{}, "C: I V43/V V65 I IV V42 I6 ii65 V7*2 I", "chorale"},
		"a bass in minor":            {Input{}, "f#: i iv V42/III III6 iiø65 V7*2 i", "chorale"},
	} {
		first, asked := voiced(t, tt.in, "progression", tt.progression, "style", tt.style, "exercise", "auto")
		again, err := do(Input{Name: "exercise.musicxml", Data: scoreOf(first, answer.Exercise)}, &request.Voice{}, "style", tt.style)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want, got := asked.Alternatives[0].Chords, again.Report.(*report.Voicing).Alternatives[0].Chords
		if len(got) != len(want) {
			t.Errorf("%s: %d chords, want %d", name, len(got), len(want))
			continue
		}
		for i := range want {
			if got[i].Symbol != want[i].Symbol || !slices.Equal(got[i].Pitches, want[i].Pitches) {
				t.Errorf("%s, chord %d: %s %v, want %s %v", name, i+1, got[i].Symbol, got[i].Pitches, want[i].Symbol, want[i].Pitches)
			}
		}
	}
}

func TestBothVersionsOfAMendedScore(t *testing.T) {
	result, said := done[*report.Mending](t, handIn(t), &request.Mend{}, "both", "true")
	doc := readSheet(t, scoreOf(result, answer.Both))
	if doc.Counts.Parts != 4 {
		t.Fatalf("%d parts, want two staves for each version", doc.Counts.Parts)
	}
	different := 0
	var before, after []theory.Pitch
	for _, n := range doc.Score.Notes {
		switch {
		case !n.Sounds() || n.Flags.Has(theory.TieStop):
		case n.Part < 2:
			before = append(before, n.Pitch)
		default:
			after = append(after, n.Pitch)
		}
	}
	for i := range before {
		if before[i] != after[i] {
			different++
		}
	}
	if different != len(said.Edits) || different == 0 {
		t.Errorf("%d notes differ, %d edits", different, len(said.Edits))
	}
}
