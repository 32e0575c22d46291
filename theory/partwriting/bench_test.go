package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Every rule of the default set on an analyzed chorale of ordinary length: four
// phrases of 25 sonorities.
func BenchmarkCheck(b *testing.B) {
	phrase := strings.Repeat("C3 G3 E4 C5 | A2 A3 E4 C5 | F2 A3 F4 C5 | D3 A3 F4 D5 | G2 B3 G4 D5 | C3 C4 G4 E5 | ", 4) + "C3' G3' E4' C5' || "
	texture := theorytest.Chords(strings.TrimSuffix(strings.Repeat(phrase, 4), "|| "))
	analysis := harmony.Analyze(texture)
	b.ReportAllocs()
	for b.Loop() {
		partwriting.Check(texture, analysis, nil)
	}
	b.ReportMetric(float64(len(texture.Moments)), "sonorities/op")
}
