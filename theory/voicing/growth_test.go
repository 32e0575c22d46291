package voicing_test

import (
	"testing"

	"partwright/theory/theorytest"
	"partwright/theory/voicing"
)

// What is read may be long; the memory for it must grow no faster than it does.
func TestProgressionsGrowWithTheirText(t *testing.T) {
	if testing.Short() {
		t.Skip("reads hundreds of long texts")
	}
	readers := map[string]func(string){
		"progression": func(text string) { _, _ = voicing.ReadProgression(text) },
		"figures":     func(text string) { _, _ = voicing.ParseFigures(text) },
	}
	for name, read := range readers {
		for _, prefix := range []string{"", "C: ", "C: bass C3", "C: soprano ", "m1 C: ", "C: V{", "C: I*"} {
			for _, piece := range []string{
				"I ", "V/", "/V", "C3 ", "C3/6 ", "/6", "#", "6 ", "6,", "-,", "D5,", "{", "}", "*2 ", "9", "1/", "|| ", "| ", "C: ", "bass ", "soprano ", "4/4 ",
				"m1 I\n", "m1 C: I b3 V\n", "\n", "é", "\x00", "\xff",
			} {
				if g := theorytest.Grow(prefix, piece, 64<<10, read); !g.Linear() {
					t.Errorf("%s, %q and %q: %+v", name, prefix, piece, g)
				}
			}
		}
	}
}
