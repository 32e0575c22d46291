package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// chorales reads every score of a folder of the measuring data, or skips.
func chorales(t testing.TB, folder string) map[string]*theory.Texture {
	t.Helper()
	if testing.Short() {
		t.Skip("reads every chorale")
	}
	dir := filepath.Join("..", "..", "..", "shared", "data", folder)
	if _, err := os.Stat(dir); err != nil {
		t.Skipf("no measuring data: %v", err)
	}
	paths, err := filepath.Glob(filepath.Join(dir, "*.mxl"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%s holds no score: %v", dir, err)
	}
	out := map[string]*theory.Texture{}
	for _, path := range paths {
		texture, err := readTexture(path)
		if err != nil {
			t.Fatal(err)
		}
		out[stem(path)] = texture
	}
	return out
}

func transposed(t *theory.Texture, by theory.Interval) *theory.Texture {
	score := *t.Score
	score.Measures = append([]theory.Measure(nil), t.Score.Measures...)
	for i := range score.Measures {
		score.Measures[i].Key.Fifths += int8(theory.PitchClass{}.Transpose(by).Fifths())
	}
	voices := append([]theory.Voice(nil), t.Voices...)
	for v := range voices {
		voices[v].Notes = append([]theory.VoiceNote(nil), t.Voices[v].Notes...)
		for n := range voices[v].Notes {
			voices[v].Notes[n].Pitch = voices[v].Notes[n].Pitch.Transpose(by)
		}
	}
	return theory.NewTexture(&score, t.Layout, t.Found, voices)
}

// TestTranspositionOfChorales: a score a minor third higher is the same but for
// its keys.
func TestTranspositionOfChorales(t *testing.T) {
	for name, texture := range chorales(t, "chorales-open") {
		a, b := harmony.Analyze(texture), harmony.Analyze(transposed(texture, theory.MinorThird))
		if len(a.Harmonies) != len(b.Harmonies) {
			t.Errorf("%s: %d harmonies became %d", name, len(a.Harmonies), len(b.Harmonies))
			continue
		}
		for i := range a.Harmonies {
			want := a.Harmonies[i].Reading
			want.Key.Tonic = want.Key.Tonic.Transpose(theory.MinorThird)
			if got := b.Harmonies[i].Reading; got != want {
				t.Errorf("%s: harmony %d is %s, want %s", name, i, got, want)
			}
		}
	}
}

// melody is the pitches of the outer voices, by which two editions of a chorale
// know each other.
func melody(t *theory.Texture) string {
	var b strings.Builder
	for _, v := range []int{0, len(t.Voices) - 1} {
		for _, n := range t.Voices[v].Notes {
			fmt.Fprint(&b, n.Pitch, " ")
		}
	}
	return b.String()
}

// sounding is what sounds at an onset, from the top, "" where nothing does.
func sounding(t *theory.Texture, onset theory.Fraction) string {
	var b strings.Builder
	for v := range t.Voices {
		for n := range t.Voices[v].Notes {
			if note := &t.Voices[v].Notes[n]; !onset.Less(note.Onset) && onset.Less(note.End()) {
				fmt.Fprint(&b, note.Pitch, " ")
			}
		}
	}
	return b.String()
}

// at returns the reading at an onset.
func at(a *harmony.Analysis, onset theory.Fraction) harmony.Reading {
	var r harmony.Reading
	for i := range a.Harmonies {
		if h := &a.Harmonies[i]; !onset.Less(h.Onset) {
			r = h.Reading
		}
	}
	return r
}

// TestOpenAndClosedScore: the same chorale in open and in closed score, by two
// editors, has the same analysis where its notes are the same. The editions
// differ in fermatas, bar lines and some notes, so a few readings may too.
func TestOpenAndClosedScore(t *testing.T) {
	closed := map[string]*theory.Texture{}
	for _, texture := range chorales(t, "chorales-closed") {
		if len(texture.Voices) == 4 {
			closed[melody(texture)] = texture
		}
	}
	pairs, points, same := 0, 0, 0
	for _, texture := range chorales(t, "chorales-open") {
		other, ok := closed[melody(texture)]
		if !ok {
			continue
		}
		pairs++
		a, b := harmony.Analyze(texture), harmony.Analyze(other)
		for onset := (theory.Fraction{}); onset.Less(texture.Score.End()); onset = onset.Add(theory.Frac(1, 2)) {
			if s := sounding(texture, onset); s != "" && s == sounding(other, onset) {
				points++
				if at(a, onset) == at(b, onset) {
					same++
				}
			}
		}
	}
	if pairs == 0 || points == 0 {
		t.Fatal("no chorale is in both editions")
	}
	share := 100 * float64(same) / float64(points)
	t.Logf("%d chorales in both editions: %.2f %% of %d eighths read the same", pairs, share, points)
	if share < 98 {
		t.Errorf("%.2f %% of the eighths with the same notes read the same, want 98 %%", share)
	}
}
