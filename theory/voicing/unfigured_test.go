package voicing

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// bassChords voices a bass without figures from a text and returns its chords.
func bassChords(t *testing.T, text string, palette Palette) []harmony.Reading {
	t.Helper()
	p, err := ReadProgression(text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	harmonize(t, p, palette)
	s, err := Solve(p.Problem(Chorale()))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	var out []harmony.Reading
	for i, c := range s.Chords {
		if bass := p.Chords[i].Bass; c.Pitches[len(c.Pitches)-1] != *bass {
			t.Errorf("%s: note %d is %v, not %v", text, i+1, c.Pitches[len(c.Pitches)-1], bass)
		}
		out = append(out, c.Reading)
	}
	return out
}

// functionsOf are the functions of chords: T, S or D.
func functionsOf(chords []harmony.Reading) string {
	var out []string
	for _, r := range chords {
		switch n := r.Numeral; {
		case n.Cadential, n.Degree == 5 || n.Degree == 7:
			out = append(out, "D")
		case n.Degree == 2 || n.Degree == 4:
			out = append(out, "S")
		default:
			out = append(out, "T")
		}
	}
	return strings.Join(out, " ")
}

// The two basses without figures whose model figures Open Music Theory v1 prints
// (unfigured bass exercises): I V64 I6 IV V4-3 I in D, and i iio6 V42 i6 iv6 V7 i in f. The
// functions have to be those.
func TestUnfiguredBasses(t *testing.T) {
	for _, tt := range []struct{ text, functions string }{
		{"D: unfigured D3 E3 F#3 G3 A3 A2 D3", "T D T S D D T"},
		{"f: unfigured F3 Bb3 Bb3 Ab3 Db4 C4 F3", "T S D T S D T"},
	} {
		chords := bassChords(t, tt.text, Applied)
		if got := functionsOf(chords); got != tt.functions {
			t.Errorf("%s: %s, want %s: %v", tt.text, got, tt.functions, chords)
		}
	}
}

// Every note of a bass gets a chord, in every palette where it has one: scales of major and
// of all forms of minor, and chromatic neighbors (common practice, no source).
func TestBassesAreHarmonized(t *testing.T) {
	for _, text := range []string{
		"C: unfigured C3 D3 E3 F3 G3 A3 B3 C4", "C: unfigured C4 B3 A3 G3 F3 E3 D3 C3",
		"a: unfigured A2 B2 C3 D3 E3 F#3 G#3 A3", "a: unfigured A3 G3 F3 E3 D3 C3 B2 A2",
		"C: unfigured C3 E3 F#3 G3 C3", "C: unfigured C4 Bb3 A3 F3 G3 C3", "C: unfigured C4 Ab3 G3 C3",
		"a: unfigured A3 E3 D#3 E3 A2", "a: unfigured A3 Bb3 G#3 A3", "C: unfigured C3 C#3 D3 G2 C3",
	} {
		for _, palette := range []Palette{Primary, Diatonic, Applied, Chromatic} {
			chords := bassChords(t, text, palette)
			if len(chords) != len(strings.Fields(text))-2 {
				t.Errorf("%s: %v: %d chords", text, palette, len(chords))
			}
			for i, r := range chords {
				if palette == Diatonic && r.Numeral.IsApplied() && r.Key.Mode == theory.MajorMode && !strings.ContainsAny(text[3:], "#b") {
					t.Errorf("%s: chord %d is %v", text, i+1, r)
				}
			}
		}
	}
}

// What has figures has its chord, and counts as a neighbor of what has none.
func TestFiguresBesideUnfiguredNotes(t *testing.T) {
	p, err := ReadProgression("C: unfigured C3 D3 bass E3/6 unfigured F3 G3 C3")
	if err != nil {
		t.Fatal(err)
	}
	harmonize(t, p, Applied)
	if c := &p.Chords[2]; c.Choices != nil || c.Reading.Numeral.Text(theory.MajorMode) != "I6" {
		t.Errorf("E3/6 is %v", c.Reading)
	}
	if len(p.Chords) != 6 || p.Chords[3].Choices == nil {
		t.Errorf("%d chords, the fourth with %d choices", len(p.Chords), len(p.Chords[3].Choices))
	}
	for _, text := range []string{"C: unfigured C3 E3/6", "C: unfigured H3"} {
		if _, err := ReadProgression(text); err == nil || !strings.Contains(err.Error(), "bass without figures") {
			t.Errorf("%s: %v", text, err)
		}
	}
}
