package worker

import (
	"slices"
	"strings"
	"testing"

	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// In a bass each note without figures carries its triad (Open Music Theory v1, Thoroughbass
// figures), which is said where there is no figure at all; asked for as unfigured, it has its
// chords chosen.
func TestBassWithoutFigures(t *testing.T) {
	const line, figured = "D3:2|E3:2|F#3:2|G3:2|A3:2|A2:2|D3:4", "D3:2|E3:2|F#3:2 6:2|G3:2|A3:2|A2:2|D3:4"
	numerals := func(score string, options ...string) (chords []string, gives, notices string) {
		_, said := voiced(t, Input{Name: "bass.musicxml", Data: []byte(figuredScore(2, score))}, options...)
		for _, c := range said.Alternatives[0].Chords {
			chords = append(chords, c.Numeral)
		}
		return chords, said.Gives, strings.Join(said.Notices, " ")
	}
	const notice = "no figure stands under the bass"
	for _, tt := range []struct {
		score, asked, gives, third string
		noticed                    bool
	}{
		{line, "auto", request.GivesBass, "iii", true},
		{line, "bass", request.GivesBass, "iii", false},
		{line, "unfigured", request.GivesUnfigured, "I6", false},
		{figured, "auto", request.GivesBass, "I6", false},
	} {
		chords, gives, said := numerals(tt.score, "gives", tt.asked)
		if gives != tt.gives || chords[2] != tt.third || chords[6] != "I" || strings.Contains(said, notice) != tt.noticed {
			t.Errorf("%s as %s: %s, %v, %q", tt.score, tt.asked, gives, chords, said)
		}
	}
	primary, _, _ := numerals(line, "gives", "unfigured", "harmony", "primary")
	if slices.ContainsFunc(primary, func(n string) bool {
		return strings.Trim(n, "IVx0123456789") != "" || strings.HasPrefix(n, "VI") || strings.HasPrefix(n, "III")
	}) {
		t.Errorf("primary chords: %v", primary)
	}
	// The exercise shows the bass and says nothing of the chords that a pupil is to choose.
	result, _ := voiced(t, Input{Name: "bass.musicxml", Data: []byte(figuredScore(2, line))}, "gives", "unfigured", "exercise", "auto")
	if exercise := string(scoreOf(result, answer.Exercise)); strings.Contains(exercise, "<harmony") || strings.Contains(exercise, "<figured-bass") {
		t.Error("the exercise gives the chords away")
	}
}

// Several harmonizations of a line differ in their chords and say how, each on its sheet.
func TestHarmonizationsContrast(t *testing.T) {
	for _, progression := range []string{"C: soprano E4 F4 G4 A4 G4 F4 E4 D4 C4", "D: unfigured D3 E3 F#3 G3 A3 B3 G3 A3 D3"} {
		result, said := voiced(t, Input{}, "progression", progression, "alternatives", "4", "compare", "true")
		if len(said.Alternatives) < 3 {
			t.Fatalf("%s: %d harmonizations, %s", progression, len(said.Alternatives), said.Fewer)
		}
		roots := map[string]bool{}
		for i, a := range said.Alternatives {
			var chords []string
			for _, c := range a.Chords {
				chords = append(chords, strings.Split(c.Symbol, "/")[0])
			}
			roots[strings.Join(chords, " ")] = true
			if i > 0 && len(a.Character) == 0 {
				t.Errorf("%s: nothing says what harmonization %d is like", progression, i+1)
			}
		}
		if len(roots) != len(said.Alternatives) {
			t.Errorf("%s: %d of %d harmonizations have chords of their own", progression, len(roots), len(said.Alternatives))
		}
		if sheet := strings.Join(strings.Fields(string(scoreOf(result, answer.Compared))), " "); !strings.Contains(sheet, "other roots than the first in ") {
			t.Error("the compared sheet does not say how the chords differ")
		} else if strings.Contains(sheet, "costs ") || !strings.Contains(sheet, "Ways to harmonize it") {
			t.Error("the compared sheet counts costs of chords, or does not say what it compares")
		}
		if n := len(scoresOf(result, answer.Voiced)); n != len(said.Alternatives) {
			t.Errorf("%d sheets for %d harmonizations", n, len(said.Alternatives))
		}
	}
}

// A tonic six-four that is chosen before its dominant over the same bass is named as the
// cadential one (Butterfield, Integrated Music Theory, unit 12); numerals that are given stay.
func TestChosenSixFoursAreNamed(t *testing.T) {
	_, said := voiced(t, Input{}, "progression", "A: soprano C#5 B4 A4 C#5 E5 D5 C#5 B4 A4*2")
	chords := said.Alternatives[0].Chords
	for k, c := range chords[:len(chords)-1] {
		if c.Numeral == "I64" && chords[k+1].Numeral == "V" {
			t.Errorf("chord %d is I64 before V", k+1)
		}
	}
	if !slices.ContainsFunc(chords, func(c report.VoicedChord) bool { return c.Numeral == "Cad64" }) {
		t.Errorf("no six-four before the close: %v", chords)
	}
	_, said = voiced(t, Input{}, "progression", "C: I I64 V I")
	if got := said.Alternatives[0].Chords[1].Numeral; got != "I64" {
		t.Errorf("I64 that is given is %s", got)
	}
}
