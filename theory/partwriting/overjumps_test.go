package partwriting_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Measures of one chord each: what leads into the endings, the first ending, and the
// second, which follows the measure before the first (W3C MusicXML 4.0, ending). The
// rules are Butterfield's (unit 10b, 11b), Open Music Theory's (sevenths) and Kelley's
// (leaps); the examples are our own.
func TestRulesOverJumps(t *testing.T) {
	cases := []struct {
		why, rule, music string
		// want is the finding with the endings, and page without them.
		want, page string
	}{
		{
			"the soprano's leading tone falls into the second ending, and rises on the page", "leading-tone-unresolved",
			"C: V G2 D3 G3 B4 / I C3 C3 G3 C5 / I C3 E3 G3 G4", "S 0 fault", "",
		},
		{
			"the soprano's leading tone falls into the first ending, and rises into the second", "leading-tone-unresolved",
			"C: V G2 D3 G3 B4 / I C3 E3 G3 G4 / I C3 E3 G3 C5", "S 1 fault", "S 1 fault",
		},
		{
			"the first ending's leading tone is not followed by the second ending", "leading-tone-unresolved",
			"C: I C3 E3 G3 C5 / V G2 D3 G3 B4 / I C3 E3 G3 G4", "", "S 2 fault",
		},
		{
			"the seventh leaps up into the second ending", "seventh-unresolved",
			"C: V7 G2 D3 B3 F4 / I C3 E3 C4 E4 / I C3 E3 C4 G4", "S 0 fault", "",
		},
		{
			"the seventh of the first ending does not touch the second", "seventh-unresolved",
			"C: I C3 G3 C4 E4 / V7 G2 D3 B3 F4 / I C3 E3 C4 G4", "", "S 2 fault",
		},
		{
			"the soprano leaps a seventh into the second ending", "leap-of-seventh",
			"C: I C3 E3 G3 C4 / V G2 D3 G3 B3 / V G2 D3 G3 B4", "S 0 fault", "",
		},
		{
			"nobody sings the seventh from the first ending to the second", "leap-of-seventh",
			"C: V G2 D3 G3 D4 / I C3 E3 G3 C4 / V G2 D3 G3 B4", "", "S 2 fault",
		},
		{
			"outer fifths from the first ending to the second are not heard", "parallel-fifths",
			"C: V G2 D3 G3 B4 / I C3 E3 E4 G4 / ii D3 A3 F4 A4", "", "SB 2 fault",
		},
		{
			"outer fifths into the second ending are heard", "consecutives-at-repeat",
			"C: I C3 E3 C4 G4 / V G2 D3 D4 G4 / ii D3 F3 A3 A4", "SB 0 caution", "",
		},
		{
			"the dominant goes back to ii in the second ending, and home on the page", "retrogression",
			"C: V G2 D3 G3 B4 / I C3 E3 G3 C5 / ii D3 F3 A3 D5", "SATB 0 fault", "",
		},
		{
			"the dominant of the first ending does not touch the second", "retrogression",
			"C: I C3 E3 G3 C5 / V G2 D3 G3 B4 / ii D3 F3 A3 D5", "", "SATB 2 fault",
		},
	}
	for _, c := range cases {
		texture := theorytest.Chords(c.music)
		analysis := labeled(t, c.music, texture)
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName("strict-chorale"), c.rule); got != c.page {
			t.Errorf("%s: on the page %q, want %q", c.why, got, c.page)
		}
		s := texture.Score
		s.Jumps, s.Cuts = theory.JumpsOf([]int{0, 1, 0, 2}, 3)
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName("strict-chorale"), c.rule); got != c.want {
			t.Errorf("%s: with endings %q, want %q", c.why, got, c.want)
		}
	}
}
