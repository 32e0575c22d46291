package harmony

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// period is eight measures of ours that pass through the dominant and the
// relative minor and end with a cadence, with suspensions and passing notes.
const period = `C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 C4 E5 | F3 A3 C4 F5 | G3 G3 C4 E5 | G2 G3 B3 D5 | C3 G3 E4 C5 | C3 G3 E4 C5 |
A2 A3 E4 C5 | D3 A3 D4 F#4 | G2 G3 D4 B4 | C3 G3 E4 C5 | D3 A3 D4 F#4 | D3 C4 D4 A4 | G2 B3 D4 G4 | G3 B3 D4 G4 |
A3 C4 E4 A4 | G#3 B3 E4 B4 | A3 C4 E4 C5 | D3 D4 F4 A4 | E3 C4 E4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4 | A2 C4 E4 A4 |
D3 A3 D4 F4 | G2 G3 D4 B4 | C3 G3 E4 C5 | F3 A3 C4 C5 | G3 G3 C4 E5 | G2 F3 B3 D5 | C3 E3 C4 C5 | C3 E3 C4 C5 | `

func benchmarkAnalyze(b *testing.B, texture *theory.Texture) {
	b.ReportAllocs()
	for b.Loop() {
		Analyze(texture)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(texture.Moments)), "ns/moment")
}

// BenchmarkAnalyze reads a chorale's length of chords, and 1,000 measures: time
// for each moment must stay the same.
func BenchmarkAnalyze(b *testing.B) {
	b.Run("16 measures", func(b *testing.B) { benchmarkAnalyze(b, theorytest.Chords(strings.Repeat(period, 2))) })
	b.Run("1000 measures", func(b *testing.B) { benchmarkAnalyze(b, theorytest.Chords(strings.Repeat(period, 125))) })
}

// BenchmarkGuided reads with a label for every harmony, and once more by the notes
// alone, to compare.
func BenchmarkGuided(b *testing.B) {
	texture := theorytest.Chords(strings.Repeat(period, 2))
	var labels []Annotation
	for _, h := range Analyze(texture).Harmonies {
		key, numeral := h.Key, h.Numeral
		labels = append(labels, Annotation{Onset: h.Onset, End: h.End, Chord: Chord{h.Root(), h.Quality(), h.Inversion()}, Key: &key, Numeral: &numeral})
	}
	b.ReportAllocs()
	for b.Loop() {
		GuidedAs(texture, labels, Steer, ByTexture)
	}
}

func BenchmarkReadRomanText(b *testing.B) {
	var text strings.Builder
	if err := Analyze(theorytest.Chords(strings.Repeat(period, 4))).WriteRomanText(&text, nil); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadRomanText(text.String()); err != nil {
			b.Fatal(err)
		}
	}
}
