package harmony

import (
	"testing"

	"partwright/theory/theorytest"
)

// Sonorities after which no reading can begin any more: nothing is left to weigh
// there.
func TestAnalyzeWhereNoReadingBegins(t *testing.T) {
	for _, music := range []string{
		"C3 C4 E4 C5 | D3 A3 F4 D5 | B2 G3 Db4 D5 | C3 E3 G4 C5",
		"G3 D4 G4 B4 | A3 E4 E4 Db5",
		"G3 D4 G4 B4 | A3 E4 E4 E5",
	} {
		if a := Analyze(theorytest.Chords(music)); len(a.Notes) != 4 {
			t.Errorf("%s: %d voices classed", music, len(a.Notes))
		}
	}
}
