package separation_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

func TestSetAside(t *testing.T) {
	score := theorytest.Score("Flute: C5 [D5] D5 E5 F5 r", "Drums: C4 C4 C4 C4", "Guitar: E3 E3 E3 E3", "Chords: r r r r", "Silent: r*4")
	score.Parts[1].Kind, score.Parts[2].Kind, score.Parts[3].Kind = theory.PercussionPart, theory.TablaturePart, theory.EmptyPart
	score.Notes[2].Flags |= theory.Cue
	score.Notes[3].Flags |= theory.Microtone
	score.Notes[4].Flags |= theory.Unpitched
	texture := separation.FindVoices(score)
	checkLaws(t, texture)
	var got []string
	for _, a := range texture.SetAside {
		got = append(got, fmt.Sprintf("%s %v %s", score.Parts[a.Part].Name, a.Notes, a.Reason))
	}
	want := []string{
		"Drums [] percussion",
		"Guitar [] tablature",
		"Chords [] no note that sounds: rests, chord symbols or figures only",
		"Silent [] no note that sounds: rests, chord symbols or figures only",
		"Flute [1] grace notes, which have no duration of their own",
		"Flute [2] cue notes, which are not performed",
		"Flute [4] unpitched notes",
		"Flute [3] microtones and pitches out of range, which are not analyzed",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("set aside\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if voices := voicesOf(texture); len(voices) != 1 || voices[0] != "V1: C5 r*4" {
		t.Errorf("voices %q, want what is left of the flute", voices)
	}
}

func TestNothingIsAVoice(t *testing.T) {
	for name, score := range map[string]*theory.Score{
		"an empty score": {},
		"only rests":     theorytest.Score("I: r r", "II: r*2"),
	} {
		texture := separation.FindVoices(score)
		if texture.Layout != theory.NoVoices || len(texture.Voices) != 0 || len(texture.Moments) != 0 || texture.Found == "" {
			t.Errorf("%s: %v, %q with %d voices", name, texture.Layout, texture.Found, len(texture.Voices))
		}
	}
}

func TestMoreVoicesThanAreCompared(t *testing.T) {
	var lines []string
	for i := range theory.MaxVoices + 6 {
		music := "C4 D4 E4 F4"
		if i%10 == 3 {
			music = "C4*4" // the shortest of them give way
		}
		lines = append(lines, fmt.Sprintf("Part %d: %s", i, music))
	}
	texture := separation.FindVoices(theorytest.Score(lines...))
	checkLaws(t, texture)
	if len(texture.Voices) != theory.MaxVoices || len(texture.SetAside) != 6 {
		t.Fatalf("%d voices and %d set aside", len(texture.Voices), len(texture.SetAside))
	}
	for _, a := range texture.SetAside {
		if len(a.Notes) != 1 || !strings.Contains(a.Reason, "64") {
			t.Errorf("part %d with %d notes is set aside: %s", a.Part, len(a.Notes), a.Reason)
		}
	}
}

func TestFoundSaysHow(t *testing.T) {
	tests := []struct {
		score []string
		found string
		voice string // of the last voice
	}{
		{
			[]string{"I: C5", "II: G4", "III: E4", "IV: C3"},
			"open score: 4 voices, each on a staff of its own", "the one line of part P4",
		},
		{[]string{"I: C5"}, "open score: one voice on one staff", "the one line of part P1"},
		{
			[]string{"W/1/1: C5 B4 C5", "W/1/2: G4 G4 -", "M/1/1: E4 D4 E4", "M/1/2: C4 B3 -"},
			"closed score: 4 voices on 2 staves, told apart by the document's own layers; 2 notes shared by two voices in unison",
			"layer 2 on staff 1 of part P2, with 1 note shared in unison",
		},
		{
			[]string{"Soprano: C5", "Alto: G4", "Tenor: E4", "Bass: C3"},
			"open score: 4 voices, each on a staff of its own, ordered by the names of the parts", "the one line of part P4",
		},
		{
			[]string{"K/1/1: E4+G4+C5", "K/2/5: C3"},
			"keyboard: 4 voices on 2 staves, chords split by rank from the top", "the one line on staff 2 of part P1",
		},
		{
			[]string{"K: C3+E4+G4+C5"},
			"block chords: 4 voices on 1 staff, chords split by rank from the top", "note 4 from the top on staff 1 of part P1",
		},
		{
			[]string{"I: C5 C5 C5", "II: E4 C4+E4 E4"},
			"open score: 2 voices, each on a staff of its own; 1 extra voice where a staff has more notes than voices",
			"notes beyond the 1 voice on staff 1 of part P2",
		},
		{
			[]string{"Voice: C5", "Piano/1/1: E4+G4", "Piano/2/5: C3"},
			"mixed score: 4 voices on 3 staves, told apart by staff, by layer and by rank in chords", "the one line on staff 2 of part P2",
		},
	}
	for _, tt := range tests {
		texture := separation.FindVoices(theorytest.Score(tt.score...))
		if last := texture.Voices[len(texture.Voices)-1]; texture.Found != tt.found || last.Found != tt.voice {
			t.Errorf("%v\nfound %q\nwant  %q\nlast voice %q\nwant       %q", tt.score, texture.Found, tt.found, last.Found, tt.voice)
		}
	}
}

func TestVoicePlace(t *testing.T) {
	texture := separation.FindVoices(theorytest.Score("K/1/1: C5 B4 C5", "K/1/2: G4v D4v G4", "K/2/5: E4 D4^ E4", "K/2/6: C3 G3 C3"))
	want := []int{1, 2, 2, 2} // the alto's notes stand on the lower staff more often than not
	for i, v := range texture.Voices {
		if v.Part != 0 || v.Staff != want[i] {
			t.Errorf("voice %s stands on staff %d, want %d", v.Name, v.Staff, want[i])
		}
	}
}

func TestTiesKeepTheirNotes(t *testing.T) {
	texture := separation.FindVoices(theorytest.Score("I: C5~ C5~ | C5*2'", "II: E4~ F4 | G4~ A4"))
	first := texture.Voices[0].Notes[0]
	if len(first.IDs) != 3 || first.IDs[0] != 0 || first.IDs[2] != 2 || first.Duration != theory.Whole(4) {
		t.Errorf("the tied note has notes %v and lasts %v", first.IDs, first.Duration)
	}
	if !first.Flags.Has(theory.Fermata | theory.TieStart | theory.TieStop) {
		t.Error("a fermata over the last of tied notes is lost")
	}
	for _, n := range texture.Voices[1].Notes {
		if len(n.IDs) != 1 {
			t.Errorf("a tie to nowhere joined %v", n.IDs)
		}
	}
}
