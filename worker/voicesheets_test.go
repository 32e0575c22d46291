package worker

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
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
	result, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Progression: "C: I vi ii6 V7*2 I", Alternatives: 3, Compare: true, Title: "Evening"})
	if err != nil {
		t.Fatal(err)
	}
	doc := readSheet(t, result.Compared)
	if doc.Counts.Parts != 6 || doc.Score.Title != "Evening" {
		t.Fatalf("%d parts, title %q; two staves for each of three", doc.Counts.Parts, doc.Score.Title)
	}
	for i := range result.Textures {
		var line []theory.Pitch
		for _, n := range doc.Score.Notes {
			if int(n.Part) == 2*i && n.Layer == 0 && n.Sounds() && !n.Flags.Has(theory.TieStop) {
				line = append(line, n.Pitch)
			}
		}
		for k, n := range result.Textures[i].Voices[0].Notes {
			if line[k] != n.Pitch {
				t.Errorf("alternative %d, note %d is %v, want %v", i+1, k+1, line[k], n.Pitch)
			}
		}
	}
	for _, words := range []string{"7 down", "lt up", " =<", "C: I", "contr.: all"} {
		if strings.Count(string(result.Compared), words) < 1 {
			t.Errorf("nowhere %q", words)
		}
	}
}

// From plain to florid the same chords take more and more notes, each with a sign.
func TestLevelsFromPlainToFlorid(t *testing.T) {
	result, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Progression: "C: I IV V I vi ii V7 I", Levels: 3, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(result.Levels) != 3 {
		t.Fatalf("%d levels", len(result.Levels))
	}
	last := 0
	for i, data := range result.Levels {
		n := readSheet(t, data).Counts.Notes
		if n <= last {
			t.Errorf("level %d has %d notes, the one before %d", i+1, n, last)
		}
		last = n
	}
	if !bytes.Contains(result.Levels[2], []byte(">p<")) {
		t.Error("no passing note has its sign")
	}
	var wrong *RequestError
	if _, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Progression: "C: I V I", Levels: 1}); !errors.As(err, &wrong) {
		t.Errorf("one level: %v", err)
	}
}

// An exercise under a melody keeps the melody and nothing else.
func TestExerciseKeepsTheGivenLine(t *testing.T) {
	for name, part := range map[string]int32{"melody.musicxml": 0, "figured-bass.musicxml": 3, "block-chords.musicxml": 3} {
		result, err := (&Engine{}).Voice(t.Context(), VoiceRequest{Score: taskScore(t, name), Exercise: true})
		if err != nil {
			t.Fatal(err)
		}
		sounding := map[int32]bool{}
		for _, n := range readSheet(t, result.Sheets[0]).Score.Notes {
			if n.Sounds() {
				sounding[n.Part] = true
			}
		}
		if len(sounding) != 1 || !sounding[part] {
			t.Errorf("%s: parts %v have notes, want part %d alone", name, sounding, part)
		}
	}
}

func TestBothVersionsOfAMendedScore(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "testdata", "class", "hand-in.musicxml"))
	if err != nil {
		t.Fatal(err)
	}
	result, err := (&Engine{}).Mend(t.Context(), Input{Name: "hand-in.musicxml", Data: data}, MendRequest{Both: true})
	if err != nil {
		t.Fatal(err)
	}
	doc := readSheet(t, result.Both)
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
	if different != len(result.Report.Edits) || different == 0 {
		t.Errorf("%d notes differ, %d edits", different, len(result.Report.Edits))
	}
}
