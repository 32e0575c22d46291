package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// A leading tone in minor that is written as the lowered tonic is told where nobody
// has named the chords; B flat that falls to A is no leading tone.
func TestMisspelledLeadingTone(t *testing.T) {
	for music, want := range map[string]string{
		"i A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 Ab4 | A2 C4 E4 A4 / A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 Ab4 | A2 C4 E4 A4 ||": "S 2 fault, S 6 fault",
		"i A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 G#4 | A2 C4 E4 A4 / A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 G#4 | A2 C4 E4 A4 ||": "",
	} {
		texture := theorytest.Chords(strings.TrimPrefix(music, "i "))
		if got := ruleVerdict(texture, harmony.Analyze(texture), nil, "leading-tone-misspelled"); got != want {
			t.Errorf("%s: %q, want %q", music, got, want)
		}
	}
}
