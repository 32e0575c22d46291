package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// Where rules about outer lines, progressions and cadences speak, and where they
// stay silent; a quarter to a sonority, chords as labeled. The music is our own;
// each rule names the source of its reading.
func TestLinesAndProgressions(t *testing.T) {
	for _, test := range []struct{ rule, music, want, why string }{
		{"static-soprano", "C: I C3 E4 G4 C5 | IV F3 F4 A4 C5 | vi A2 E4 A4 C5", "S 0 remark", "one pitch over three roots"},
		{"static-soprano", "C: I C3 E4 G4 C5 | IV F3 F4 A4 C5 | V G3 D4 G4 B4", "", "two are not many"},
		{"static-soprano", "C: I C3 E4 G4 C5 | I6 E3 E4 G4 C5 | IV F3 F4 A4 C5 | V G3 D4 G4 B4", "", "an inversion is no new root"},
		{"soprano-turns-back", "C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 E4 C5 | B2 G3 D4 D5 / C3 G3 E4 C5", "S 1 remark", "to D and back, twice"},
		{"soprano-turns-back", "C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 E4 C5 | G3 G3 D4 B4", "", "once"},
		{"narrow-bass", "C: I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I6 E3 G3 C4 C5 | ii6 F3 A3 D4 D5 / V42 F3 G3 D4 B4 | I6 E3 G3 C4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5 ||", "B 0 remark", "seven roots over a fourth"},
		{"narrow-bass", "C: I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I6 E3 G3 C4 C5 | ii6 F3 A3 D4 D5 / V G3 G3 D4 B4 | I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5 ||", "", "a fifth is room enough"},
		{"bass-held-into-strong-beat", "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 / vi6 C3 A3 E4 A4 | ii D3 A3 D4 F4", "B 4 caution", "C on the weak beat, and again on the downbeat"},
		{"bass-held-into-strong-beat", "C: I C3 G3 E4 C5 | I6 E3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 F4 C5 / V42 F3 G3 D4 B4 | I6 E3 G3 C4 C5", "", "the bass becomes the seventh"},
		{"weak-progression", "C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | I C3 G3 C4 E4", "SATB 2 caution", "no dominant between"},
		{"weak-progression", "C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | V G2 B3 D4 G4 | I C3 G3 C4 E4", "", "a dominant between"},
		{"weak-progression", "C: I C3 G3 C4 E4 | ii D3 A3 D4 F4 | I6 E3 G3 C4 G4", "", "the bass passes from I to I6"},
		{"weak-progression", "C: ii D3 A3 D4 F4 | I6 E3 G3 C4 G4 | IV F3 A3 C4 A4", "", "I6 passes from ii to IV"},
		{"weak-progression", "unsure C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | I C3 G3 C4 E4", "SATB 2 remark", "a reading of our own"},
		{"leap-after-leap", "C3 C4 | C3 F4 | C3 B3 | C3 G4", "V1 3 caution", "fourth, fifth and sixth in turn"},
		{"leap-after-leap", "C3 C4 | C3 E4 | C3 B3 | C3 G4", "", "a third is no great leap"},
		{"leap-after-leap", "C3 C4 | C3 G4 | C3 C4 | C3 G4", "", "the notes belong to one chord"},
		{"cadential-six-four-unprepared", "C: IV F3 A3 D4 F4 | Cad64 G3 G3 E4 C5 | V G3 G3 D4 B4", "S 1 caution", "the fourth is reached by a leap"},
		{"cadential-six-four-unprepared", "C: IV F3 A3 F4 C5 | Cad64 G3 G3 E4 C5 | V G3 G3 D4 B4", "", "held, and by step"},
		{"retrogression", "C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 C4 C5", "SATB 2 fault", "the chords are named"},
		{"retrogression", "unsure C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 C4 C5", "SATB 2 caution", "a reading of our own"},
		{"inner-leading-tone-unresolved", "C: V7 G3 B3 F4 D5 | I C3 C3 E4 C5", "T 1 caution", "a seventh down to the tonic"},
		{"inner-leading-tone-unresolved", "C: V7 G3 B3 F4 D5 | I C3 G3 E4 C5", "", "a third down to the fifth"},
	} {
		music, unsure := strings.CutPrefix(test.music, "unsure ")
		texture := theorytest.Chords(music)
		analysis := labeled(t, music, texture)
		for i := range lenOf(analysis) {
			if unsure {
				analysis.Harmonies[i].Confidence = 0.7
			}
		}
		if got := ruleVerdict(texture, analysis, nil, test.rule); got != test.want {
			t.Errorf("%s: %s\n got  %s\n want %s\n because: %s", test.rule, test.music, got, test.want, test.why)
		}
	}
}

func lenOf(a *harmony.Analysis) int {
	if a == nil {
		return 0
	}
	return len(a.Harmonies)
}
