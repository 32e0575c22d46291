package harmony

import (
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// labelsFrom makes labels of a score out of bytes, four to a label.
func labelsFrom(data []byte, s *theory.Score) {
	kinds := []string{"major", "minor", "dominant", "diminished-seventh", "German", "none", "other", "suspended-fourth", "minor-ninth", "Neapolitan"}
	texts := []string{"V65", "C: I", "viio7/V", "Cad64", "Dp", "g: ", "bVII", "It6", "i"}
	onset := theory.Fraction{}
	for len(data) >= 4 && len(s.Chords)+len(s.Figures) < 60 {
		b := data[:4]
		data = data[4:]
		onset = onset.Add(theory.Frac(int64(b[0]%16), 4))
		measure := s.MeasureAt(onset).Index
		root := theory.PitchClassAtFifths(int(b[2]%24) - 12)
		given := theory.GivenChord{Onset: onset, Measure: measure, ID: int32(b[0] / 16), Kind: kinds[int(b[1]/16)%len(kinds)], Inversion: int(b[3] % 5)}
		switch b[1] % 4 {
		case 0:
			given.Root, given.HasRoot = root, true
			if b[3] > 128 {
				given.Bass, given.HasBass = theory.PitchClassAtFifths(int(b[3]%20)-10), true
			}
		case 1:
			given.Numeral = texts[int(b[2])%len(texts)]
		case 2:
			given.Numeral, given.Degree, given.DegreeAlter = "x", int(b[2]%7)+1, int(b[3]%5)-2
			if given.HasKey = b[3] > 100; given.HasKey {
				given.NumeralKey = theory.Key{Tonic: root, Mode: theory.Mode(b[3] % 2)}
			}
		case 3:
			s.Figures = append(s.Figures, theory.GivenFigures{
				Onset: onset, Measure: measure, Part: int(b[2]) % len(s.Parts), Duration: theory.Frac(int64(b[3]%8), 2),
				Figures: []theory.Figure{{Number: int(b[3] % 12), Prefix: []string{"", "sharp", "natural", "plus", "?"}[b[2]%5], Extends: b[2] > 200}},
			})
			continue
		}
		s.Chords = append(s.Chords, given)
	}
}

// FuzzGuided: whatever the labels say, they come in turn, and the reading that they
// steer or replace covers what the reading of the notes covers, in order.
func FuzzGuided(f *testing.F) {
	f.Add([]byte("\x00\x00\x10\x00\x04\x01\x01\x00\x04\x02\x04\x80\x08\x03\x06\x06"))
	f.Add([]byte("\x02\x43\x0c\x07\x02\x43\x0c\x06\x00\x52\x05\x81\x01\x42\x05\x01"))
	f.Add([]byte("\x01\x40\x06\x02\x01\x40\x12\x03\x05\x41\x02\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		texture := theorytest.Chords("G2 D3 B3 G4 | C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4 / C3 Ab3 F#4 Eb4 | G3 G3 D4 B4 | A2 E4 C5 A4 | D3 F3 A3 D4 ||")
		labelsFrom(data, texture.Score)
		given := ScoreAnnotations(texture)
		for i := range given {
			if !given[i].Onset.Less(given[i].End) || i > 0 && given[i].Onset.Less(given[i-1].End) {
				t.Fatalf("labels out of turn: %s", described(given))
			}
		}
		alone := Analyze(texture)
		for _, use := range []LabelUse{Steer, Replace} {
			a := GuidedAs(texture, given, use, ByTexture)
			for m := range texture.Moments {
				if alone.At(m) != nil && a.At(m) == nil {
					t.Errorf("%s leaves moment %d without a harmony under %s", use, m, described(given))
				}
			}
			for i := range a.Harmonies {
				if h := &a.Harmonies[i]; !h.Onset.Less(h.End) || i > 0 && h.Onset.Less(a.Harmonies[i-1].End) {
					t.Errorf("%s: harmonies out of order under %s", use, described(given))
				}
			}
		}
	})
}
