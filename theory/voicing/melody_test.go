package voicing

import (
	"context"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// melodyChords voices a melody from a text and returns its chords.
func melodyChords(t *testing.T, text string, palette Palette) []harmony.Reading {
	t.Helper()
	p, err := ReadProgression(text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	if err := p.End(AsGiven); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	harmonize(t, p, palette)
	s, err := Solve(p.Problem(Chorale()))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	var out []harmony.Reading
	for i, c := range s.Chords {
		if top := p.Chords[i].Fixed[0]; c.Pitches[0] != *top {
			t.Errorf("%s: note %d is %v, not %v", text, i+1, c.Pitches[0], top)
		}
		out = append(out, c.Reading)
	}
	return out
}

// harmonize chooses the chords of a progression for four voices.
func harmonize(t *testing.T, p *Progression, palette Palette) {
	t.Helper()
	if err := p.Harmonize(context.Background(), tune.Default, palette, func() *Problem { return p.Problem(Chorale()) }); err != nil {
		t.Fatal(err)
	}
}

// harmonized reads a melody, chooses its chords and voices them.
func harmonized(t *testing.T, text string) (*Progression, *Solution) {
	t.Helper()
	p, err := ReadProgression(text)
	if err != nil {
		t.Fatal(err)
	}
	harmonize(t, p, Applied)
	s, err := Solve(p.Problem(Chorale()))
	if err != nil {
		t.Fatal(err)
	}
	return p, s
}

// The chord that opens a phrase makes no fifths or octaves of melody and bass with the one before,
// and the sevenths that the first harmonization has go down by step.
func TestMelodiesOfTwoPhrases(t *testing.T) {
	for _, text := range []string{
		"E: soprano G#4 A4 B4 E5 D#5 C#5 B4*2 || C#5 B4 A4 G#4 F#4 G#4 F#4 E4*2",
		"D: soprano A4 D5 C#5 B4 A4 G4 F#4 E4*2 || F#4 A4 G4 B4 A4 F#4 E4 D4*2",
		"Eb: soprano Eb5 D5 C5 Bb4 Ab4 G4 F4*2 || G4 Bb4 Ab4 F4 G4 F4 Eb4*2",
	} {
		p, s := harmonized(t, text)
		for k := 1; k < len(s.Chords); k++ {
			a, b := s.Chords[k-1].Pitches, s.Chords[k].Pitches
			before, after := theory.Between(a[3], a[0]), theory.Between(b[3], b[0])
			if p.Chords[k-1].PhraseEnd && a[0] != b[0] && a[3].Class() != b[3].Class() && (before.IsPerfectFifth() || before.IsPerfectOctave()) && before.Simple() == after.Simple() {
				t.Errorf("%s: %v to %v at the seam", text, a, b)
			}
		}
		if n := strayingSevenths(s); n > 0 {
			t.Errorf("%s: %d sevenths stray", text, n)
		}
	}
}

// Each palette keeps to its chords where they hold the notes. The chords are those that
// Hutchinson, Music Theory for the 21st-Century Classroom, calls primary (ch. 8), diatonic
// (ch. 8, in minor with the raised degrees, ch. 16) and secondary dominants (ch. 20).
func TestPalettes(t *testing.T) {
	for _, text := range []string{
		"C: soprano E4 F4 G4 A4 G4 F4 E4 D4 C4", "G: soprano B4 C5 D5 B4 A4 G4 A4 A4 G4",
		"a: soprano C5 B4 A4 B4 C5 D5 C5 B4 A4", "d: soprano F4 E4 F4 G4 A4 G4 F4 E4 D4",
	} {
		for _, palette := range []Palette{Primary, Diatonic, Applied, Chromatic} {
			for i, r := range melodyChords(t, text, palette) {
				n := r.Numeral
				switch {
				case palette == Primary && (n.IsApplied() || n.Degree != 1 && n.Degree != 4 && n.Degree != 5),
					palette == Diatonic && n.IsApplied(), palette < Chromatic && r.Quality().IsAugmentedSixth():
					t.Errorf("%s: %v: chord %d is %v", palette, text, i+1, r)
				}
			}
		}
	}
}

// No note of a major or of any form of a minor scale is refused, up or down, and no
// chromatic note that is spelled as a raised or lowered neighbor (common practice, no
// source).
func TestMelodiesAreHarmonized(t *testing.T) {
	for _, text := range []string{
		"C: soprano C4 D4 E4 F4 G4 A4 B4 C5", "C: soprano C5 B4 A4 G4 F4 E4 D4 C4",
		"a: soprano A4 B4 C5 D5 E5 F#5 G#5 A5", "a: soprano A5 G5 F5 E5 D5 C5 B4 A4",
		"C: soprano E4 F4 F#4 G4", "C: soprano C5 Bb4 A4 G4", "C: soprano G4 G#4 A4 G4", "C: soprano G4 Ab4 G4 G4", "C: soprano C5 C#5 D5 C5",
		"a: soprano C5 C#5 D5 C5 B4 A4", "a: soprano D5 D#5 E5 E5", "a: soprano C5 Bb4 A4 G#4 A4",
	} {
		for _, palette := range []Palette{Primary, Diatonic, Applied, Chromatic} {
			if got := melodyChords(t, text, palette); len(got) != len(strings.Fields(text))-2 {
				t.Errorf("%s: %s: %d chords", palette, text, len(got))
			}
		}
	}
}

// What the notes leave nothing else for stays: a given bass, chords that are given.
func TestGivenChordsUnderAMelodyStay(t *testing.T) {
	p, err := ReadProgression("C: soprano E5 D5 C5 D5 E5 chords V{D5} soprano C5 chords IV{C5} soprano G4 E4")
	if err != nil {
		t.Fatal(err)
	}
	harmonize(t, p, Applied)
	for i, want := range map[int]string{5: "V", 7: "IV"} {
		if c := &p.Chords[i]; c.Choices != nil || c.Reading.Numeral.Text(theory.MajorMode) != want {
			t.Errorf("chord %d is %v with %d choices, want %s alone", i+1, c.Reading, len(c.Choices), want)
		}
	}
}

// A chromatic line that rises to the third ends on the tonic, which the leading tone's
// dominant goes to as it does deceptively (B7 to C), and not on the mediant (common practice,
// no source).
func TestAChromaticLineComesHome(t *testing.T) {
	for _, text := range []string{"C: soprano C5 C#5 D5 D#5 E5", "F: soprano F4 F#4 G4 G#4 A4"} {
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatal(err)
		}
		harmonize(t, p, Applied)
		s := solved(t, p, Chorale())
		last := s.Chords[len(s.Chords)-1].Reading.Numeral
		if !last.IsTonic() || last.Inversion != 0 || s.broken > 0 {
			t.Errorf("%s: %s, %d rules broken", text, numeralsOf(s), s.broken)
		}
	}
}

// A six-four that the dominant takes up is a cadential one for as long as it lasts, over notes
// of a tune as where it is given (common practice, no source).
func TestHeldSixFoursAreCadential(t *testing.T) {
	p, err := ReadProgression("C: I ii6 I64 I64 V I")
	if err != nil {
		t.Fatal(err)
	}
	p.NameSixFours()
	for k, want := range []bool{false, false, true, true, false, false} {
		if got := p.Chords[k].Reading.Numeral.Cadential; got != want {
			t.Errorf("given chord %d, %v, is cadential: %v", k+1, p.Chords[k].Reading, got)
		}
	}
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	six := harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: 2}}
	five := harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 5, Quality: harmony.MajorTriad}}
	phrase := []Chord{{Reading: six}, {Reading: six}, {Reading: five}}
	for at := 1; at >= 0; at-- {
		if phrase[at].Reading = named(phrase, at); !phrase[at].Reading.Numeral.Cadential {
			t.Errorf("chosen chord %d is named %v", at+1, phrase[at].Reading)
		}
	}
}
