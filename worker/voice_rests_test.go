package worker

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// blocksWithRests are block chords in one part, a beat each, in 4/4 without a signature; a
// dash is a rest.
func blocksWithRests(t *testing.T, key, words string) []byte {
	t.Helper()
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i, word := range strings.Fields(words) {
		if i%4 == 0 {
			if i > 0 {
				b.WriteString("</measure>")
			}
			fmt.Fprintf(&b, `<measure number="%d">`, i/4+1)
		}
		if i == 0 {
			b.WriteString(`<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`)
		}
		if word == "-" {
			b.WriteString("<note><rest/><duration>1</duration></note>")
			continue
		}
		p, err := voicing.ReadProgression(key + ": " + word)
		if err != nil {
			t.Fatal(err)
		}
		writeCloseChord(&b, p.Chords[0].Reading)
	}
	b.WriteString("</measure></part></score-partwise>")
	return []byte(b.String())
}

// A rest behind a tonicized degree ends no key: I V7/ii ii V7 I is in one key however it is
// phrased (Hutchinson, Music Theory for the 21st-Century Classroom, ch. 29 and 31).
func TestRestsMakeNoKeyOfATonicizedDegree(t *testing.T) {
	for _, tt := range []struct{ key, words string }{
		{"A", "I I V7/ii V7/ii ii ii - - V7 V7 I I"},
		{"Db", "I I V7/vi V7/vi vi vi - - IV ii V7 I"},
		{"e", "i i viio7 i V7/iv V7/iv iv - V V i i"},
		{"b", "i i V7/III V7/III III III - - iv V7 i i"},
	} {
		_, said := voiced(t, Input{Name: "raw.musicxml", Data: blocksWithRests(t, tt.key, tt.words)})
		for _, c := range said.Alternatives[0].Chords {
			if c.Key != tt.key {
				t.Errorf("%s: %s: %s is read in %s", tt.key, tt.words, c.Numeral, c.Key)
			}
		}
	}
}

// The last of some block chords ends where it is written to end, as those before it do.
func TestRestsAfterTheLastChordStay(t *testing.T) {
	a, _ := voiced(t, Input{Name: "raw.musicxml", Data: blocksWithRests(t, "C", "I - V - I - - -")})
	doc, err := musicxml.Read("sheet.musicxml", scoreOf(a, answer.Voiced), musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range doc.Score.Notes {
		if n := &doc.Score.Notes[i]; n.Sounds() && n.Duration != theory.Whole(1) {
			t.Errorf("%v at %v lasts %v quarters, one was written", n.Pitch, n.Onset, n.Duration)
		}
	}
}

// Stacks without durations share the time of their note as those of a text do, and what
// stands under no note, or is no figure, is refused by name (W3C MusicXML 4.0, figured-bass;
// how stacks without durations are meant: common practice, no source).
func TestFiguresWithoutDurationsOrNotes(t *testing.T) {
	timeless := func(line string) string {
		return strings.ReplaceAll(figuredScore(0, line), "<duration></duration></figured-bass>", "</figured-bass>")
	}
	for _, from := range []string{"C3:4|G3:4 4 3|C3:8", "C3:4|G3:4 8/4 8/3|C3:8"} {
		said, _ := voiced(t, Input{Name: "figures.musicxml", Data: []byte(timeless(from))})
		faults, delays := checkedSheet(t, said, "chorale")
		if len(faults) > 0 || !strings.Contains(delays, "4-3") {
			t.Errorf("%s: faults %v, suspensions %s; want 4-3", from, faults, delays)
		}
	}
	line := timeless("C3:2|E3:2 6|G3:4 7|C3:8")
	for want, wrong := range map[string]string{
		"the figures 6 stand where the bass rests": strings.Replace(line, "<pitch><step>E</step><alter>0</alter><octave>3</octave></pitch>", "<rest/>", 1),
		"neither a number nor an accidental":       strings.Replace(line, "<figure-number>6</figure-number></figure>", "<figure-number>6</figure-number></figure><figure></figure>", 1),
		"6 stands there twice":                     strings.Replace(line, "<figure-number>6</figure-number></figure>", "<figure-number>6</figure-number></figure><figure><figure-number>6</figure-number></figure>", 1),
	} {
		if wrong == line {
			t.Fatalf("%s: nothing was changed in %s", want, line)
		}
		_, err := do(Input{Name: "figures.musicxml", Data: []byte(wrong)}, &request.Voice{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "measure 1") || !strings.Contains(err.Error(), "beat 2") {
			t.Errorf("%v, want %q in measure 1, beat 2", err, want)
		}
	}
}

// Where a melody rests, or has heads that show rhythm alone, the other voices sing all of the
// chord but a fifth that may be left out (Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 26, on root, third and seventh).
func TestChordsUnderRestsOfAMelodyAreComplete(t *testing.T) {
	note := func(step string) string {
		return "<note><pitch><step>" + step + "</step><octave>5</octave></pitch><duration>2</duration></note>"
	}
	for _, tt := range []struct{ rest, first, root, kind, needs string }{
		{slashOf2, "E", "G", "dominant", "G B F"},
		{restOf2, "E", "G", "dominant", "G B F"},
		{restOf2, "C", "G", "dominant", "G B F"},
		{restOf2, "G", "D", "minor-seventh", "D F C"},
		{slashOf2, "C", "F", "major", "F A"},
		{restOf2, "E", "A", "minor", "A C"},
		{restOf2, "C", "B", "half-diminished", "B D A"},
	} {
		in := leadSheet(symbolOf("C", "major", "")+note(tt.first)+symbolOf(tt.root, tt.kind, "")+tt.rest, symbolOf("C", "major", "")+note("E")+note("C"))
		a, _ := voiced(t, in)
		doc, err := musicxml.Read("sheet.musicxml", scoreOf(a, answer.Voiced), musicxml.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		var sounds []string
		for i := range doc.Score.Notes {
			if n := &doc.Score.Notes[i]; n.Sounds() && n.Onset == theory.Whole(2) {
				sounds = append(sounds, n.Pitch.Class().String())
			}
		}
		for _, need := range strings.Fields(tt.needs) {
			if !slices.Contains(sounds, need) {
				t.Errorf("%s %s under a rest after %s: %v sound, without %s", tt.root, tt.kind, tt.first, sounds, need)
			}
		}
	}
}

// An exercise is read as the task that it was made of, also where its first figure comes later
// than its note, so that an empty one holds the place.
func TestExercisesWithLaterFiguresAreTasksAgain(t *testing.T) {
	for _, text := range []string{"C: bass C3 C3/5/2 B2/6 C3*2", "C: bass C3 F3 G3/8-7*2 C3*4"} {
		first, said := voiced(t, Input{}, "progression", text, "exercise", "bass")
		sheet := scoreOf(first, answer.Exercise)
		if sheet == nil {
			t.Fatalf("%s: no exercise", text)
		}
		_, again := voiced(t, Input{Name: "exercise.musicxml", Data: sheet})
		for i, c := range said.Alternatives[0].Chords {
			if got := again.Alternatives[0].Chords[i].Numeral; got != c.Numeral {
				t.Errorf("%s: chord %d of the exercise is %s, %s was given", text, i+1, got, c.Numeral)
			}
		}
	}
}
