package partwriting_test

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// FuzzCheck makes a texture of any bytes and holds the rules to two laws: they
// never panic, and a transposed texture has the same findings but for register.
func FuzzCheck(f *testing.F) {
	f.Add([]byte("\x04CGEC\x00DAFA\x05GDFB"))
	f.Add([]byte("\x02\x20\x30\x21\x31\x22\x32"))
	f.Add([]byte{3, 255, 0, 17, 40, 41, 42, 200, 1})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) < 2 || len(data) > 400 {
			return
		}
		texture := textureOf(data)
		if len(texture.Moments) == 0 {
			return
		}
		partwriting.Check(texture, harmony.Analyze(texture), nil)
		for _, set := range partwriting.RuleSets() {
			partwriting.Check(texture, nil, set)
		}
		if a, b := outline(texture), outline(transposed(texture, theory.PerfectFifth)); a != b {
			t.Errorf("a fifth up:\n%s\nwas\n%s", b, a)
		}
	})
}

// textureOf reads the first byte as the number of voices, one to six, and every
// other byte as a note on the scale from E2 up, a hold or a rest.
func textureOf(data []byte) *theory.Texture {
	voices := 1 + int(data[0])%6
	text := ""
	started := make([]bool, voices)
	for i, b := range data[1:] {
		v := i % voices
		switch {
		case v == 0 && i > 0:
			text += " | "
		}
		switch n := int(b) % 40; {
		case n == 39:
			text += " r"
			started[v] = false
		case n == 38 && started[v]:
			text += " ."
		default:
			p := theory.MustPitch("E2").Transpose(theory.Interval{Steps: n, Semitones: n * 12 / 7})
			text += fmt.Sprint(" ", p)
			started[v] = true
		}
	}
	return theorytest.ChordsOf(theory.Frac(1, 2), text)
}
