package separation_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// choraleLines are four measures of our own in closed score, 62 notes.
var choraleLines = [4]string{
	"C5 D5*1/2 C5*1/2 B4 C5 | A4 B4 C5*2 | G4 A4*1/2 B4*1/2 C5 D5 | E5 D5 C5*2",
	"G4 G4 G4 G4 | F4 F4*1/2 E4*1/2 E4*2 | E4 F4 G4 G4 | G4 F4*1/2 G4*1/2 E4*2",
	"E4 D4 D4 E4 | C4 D4 G3*2 | C4 C4 C4 B3 | C4 B3 C4*2",
	"C3 B2 G2 C3 | F3 D3 C3*2 | C3 F3 E3 G3 | C3 G2 C3*2",
}

// repeated writes music of the given four lines several times over.
func repeated(times int, heads ...string) *theory.Score {
	lines := make([]string, len(heads))
	for i, head := range heads {
		lines[i] = head + ": " + strings.TrimSuffix(strings.Repeat(choraleLines[i%4]+" | ", times), " | ")
	}
	return theorytest.Score(lines...)
}

func keyboard(times int) *theory.Score {
	const right, left = "E4+G4+C5 F4+A4+C5 F4+G4+B4 E4+G4+C5", "C3 F3 G3 C3"
	return theorytest.Score(
		"K/1/1: "+strings.TrimSuffix(strings.Repeat(right+" | ", times), " | "),
		"K/2/5: "+strings.TrimSuffix(strings.Repeat(left+" | ", times), " | "))
}

func orchestra(parts, times int) *theory.Score {
	heads := make([]string, parts)
	for i := range heads {
		heads[i] = fmt.Sprintf("Part %d", i+1)
	}
	return repeated(times, heads...)
}

func BenchmarkFindVoices(b *testing.B) {
	cases := []struct {
		name  string
		score *theory.Score
	}{
		{"chorale-open", repeated(4, "I", "II", "III", "IV")},
		{"chorale-closed", repeated(4, "W/1/1", "W/1/2", "M/1/1", "M/1/2")},
		{"keyboard", keyboard(16)},
		{"orchestra-36-parts", orchestra(36, 8)},
		{"orchestra-36-parts-longer", orchestra(36, 32)},
	}
	for _, c := range cases {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				separation.FindVoices(c.score)
			}
			b.ReportMetric(float64(len(c.score.Notes)), "notes")
		})
	}
}

func BenchmarkNewTexture(b *testing.B) {
	for name, score := range map[string]*theory.Score{
		"chorale": repeated(4, "I", "II", "III", "IV"), "orchestra-36-parts": orchestra(36, 8),
	} {
		found := separation.FindVoices(score)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				theory.NewTexture(score, found.Layout, found.Found, found.Voices)
			}
			b.ReportMetric(float64(len(found.Moments)), "moments")
		})
	}
}
