package partwriting_test

import (
	"slices"
	"strconv"
	"strings"
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

// What the rules about changes find in the music as it is heard around a jump, and what the
// page alone would show. The measures are those of [TestRulesOverJumps]: what leads into the
// endings, the first ending, the second. The rules are Hutchinson's (direct intervals,
// chapters 27 and 29), Feezell's (cross relations), Open Music Theory's (overlap, altered
// notes) and Florida State University's (ii to I); the examples are our own.
func TestChangesOverJumps(t *testing.T) {
	cases := []struct {
		why, rule, music string
		want, page       string
	}{
		{
			"the outer voices leap into an octave in the second ending", "direct-octaves",
			"C: I C3 G3 E4 G4 / V G3 G3 D4 B4 / IV F3 A3 C4 F5", "SB 0 fault", "",
		},
		{
			"nobody goes from the first ending's chord to the octave", "direct-octaves",
			"C: V G3 B3 D4 D5 / I C3 E3 C4 G4 / IV F3 A3 C4 F5", "", "SB 2 fault",
		},
		{
			"the alto's F and the soprano's F sharp in the second ending", "cross-relation",
			"C: IV F3 C4 F4 A4 / I C3 G3 E4 G4 / V/V D3 D4 A4 F#5", "SA 0 caution", "",
		},
		{
			"F of the first ending does not touch F sharp in the second", "cross-relation",
			"C: I C3 G3 E4 G4 / IV F3 C4 F4 A4 / V/V D3 D4 A4 F#5", "", "SA 2 caution",
		},
		{
			"the Neapolitan's lowered second rises into the second ending", "neapolitan-unresolved",
			"c: bII6 F3 Ab3 F4 Db5 / V G3 G3 D4 B4 / V G2 G3 D4 F5", "S 0 caution", "",
		},
		{
			"the sixth of a cadential six-four rises into the second ending", "cadential-six-four-unresolved",
			"C: Cad64 G3 C4 G4 E5 / V G3 B3 G4 D5 / V G2 B3 D4 G5", "S 0 fault", "",
		},
		{
			"a six-four is leapt into from before the endings", "cadential-six-four-unprepared",
			"C: ii6 F3 A3 D4 A4 / V G3 B3 D4 D5 / Cad64 G3 G3 C4 E5", "S 0 caution", "",
		},
		{
			"ii goes straight to I in the second ending", "weak-progression",
			"C: ii D3 A3 F4 D5 / V G3 B3 D4 D5 / I C3 G3 E4 C5", "SATB 0 caution", "",
		},
		{
			"ii of the first ending does not touch I in the second", "weak-progression",
			"C: V G3 B3 D4 D5 / ii D3 A3 F4 D5 / I C3 G3 E4 C5", "", "SATB 2 caution",
		},
		{
			"the alto goes above the soprano's last note in the second ending", "voice-overlap",
			"C: I C3 G3 C4 E4 / V G2 G3 D4 B4 / vi A2 C4 A4 C5", "SA 0 caution", "",
		},
		{
			"a sixth into the second ending goes on the same way", "unrecovered-leap",
			"C: I C3 G3 C4 E4 / V G2 G3 D4 B4 / vi A2 C4 A4 C5 | ii D3 D4 A4 D5", "S 0 caution", "S 1 caution",
		},
		{
			"all voices rise into the second ending", "all-one-direction",
			"C: I C3 G3 C4 E4 / V G3 G3 B3 D5 / IV F3 A3 F4 A4 / V G3 B3 D4 G4", "SATB 0 caution", "",
		},
		{
			"the tritone of the upper voices opens into the second ending", "unequal-fifths",
			"C: V7 G2 G3 B3 F4 / I C3 G3 C4 E4 / vi A2 A3 C4 G4", "SA 0 caution", "",
		},
	}
	for _, c := range cases {
		texture := theorytest.Chords(c.music)
		analysis := labeled(t, c.music, texture)
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName("strict-chorale"), c.rule); got != c.page {
			t.Errorf("%s: on the page %q, want %q", c.why, got, c.page)
		}
		s := texture.Score
		s.Jumps, s.Cuts = theory.JumpsOf([]int{0, 1, 0, 2}, len(s.Measures))
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName("strict-chorale"), c.rule); got != c.want {
			t.Errorf("%s: with endings %q, want %q", c.why, got, c.want)
		}
	}
}

// In 24 forms of jumps, whatever two measures follow one another when the music is heard,
// rules about changes look from one to the other, and from none to one that does not follow
// it. The orders are those that the reader of documents is held to (W3C MusicXML 4.0 and
// common practice); the chords are our own.
func TestWhateverIsHeard(t *testing.T) {
	forms := []struct{ name, heard string }{
		{"repeat from the start", "1 2 1 2 3"},
		{"repeat of a part", "1 2 3 2 3 4"},
		{"two repeats", "1 1 2 2 3"},
		{"four times", "1 2 2 2 2 3"},
		{"nested repeats", "1 2 2 3 1 2 2 3 4"},
		{"nested repeats, the inner one three times", "1 2 2 2 3 1 2 2 2 3"},
		{"two endings", "1 2 1 3 4"},
		{"three endings", "1 2 1 3 1 4 5"},
		{"one ending for two times", "1 2 1 2 1 3 4"},
		{"a first ending alone", "1 2 1 3"},
		{"long endings", "1 2 3 1 4 5 6"},
		{"endings inside a repeat", "1 2 3 2 4 5 1 2 3 2 4 5 6"},
		{"da capo in words", "1 2 3 1 2 3"},
		{"da capo al fine", "1 2 3 1 2"},
		{"da capo al fine as sound", "1 2 3 1 2"},
		{"da capo without repeats", "1 1 2 3 1 2"},
		{"da capo over endings", "1 2 1 3 4 1 3"},
		{"dal segno", "1 2 3 2 3"},
		{"dal segno al fine", "1 2 3 4 2 3"},
		{"dal segno al coda in words", "1 2 3 4 2 3 5 6"},
		{"dal segno al coda as sound", "1 2 3 4 2 3 5"},
		{"two coda signs", "1 2 3 1 2 4"},
		{"segno and coda on bar lines", "1 2 3 4 2 3 5"},
		{"segno, repeat and coda", "1 2 2 3 4 1 2 3 5"},
	}
	rules := []struct {
		rule, first, second string
		// both is set where the change is wrong in either direction.
		both bool
	}{
		{"cross-relation", "IV F3 C4 F4 A4", "V/V D3 D4 A4 F#5", true},
		{"leap-of-seventh", "I C3 G3 E4 C4", "V G2 D4 G4 B4", true},
		{"retrogression", "V G2 D4 G4 B4", "ii D3 A3 F4 D5", false},
	}
	if len(forms) != 24 {
		t.Errorf("%d forms", len(forms))
	}
	for _, form := range forms {
		var heard []int
		for _, word := range strings.Fields(form.heard) {
			n, err := strconv.Atoi(word)
			if err != nil {
				t.Fatal(err)
			}
			heard = append(heard, n-1)
		}
		follows := map[[2]int]bool{}
		for i := 1; i < len(heard); i++ {
			follows[[2]int{heard[i-1], heard[i]}] = true
		}
		measures := slices.Max(heard) + 1
		for _, rule := range rules {
			for i := range measures * measures {
				first, second := i/measures, i%measures
				if first == second {
					continue
				}
				chords := slices.Repeat([]string{"I C3 G3 E4 G4"}, measures)
				chords[first], chords[second] = rule.first, rule.second
				music := "C: " + strings.Join(chords, " / ")
				texture := theorytest.Chords(music)
				s := texture.Score
				s.Jumps, s.Cuts = theory.JumpsOf(heard, measures)
				got := ruleVerdict(texture, labeled(t, music, texture), partwriting.RuleSetByName("strict-chorale"), rule.rule) != ""
				want := follows[[2]int{first, second}] || rule.both && follows[[2]int{second, first}]
				if got != want {
					t.Errorf("%s: %s from measure %d to %d: found %v, heard %v", form.name, rule.rule, first+1, second+1, got, want)
				}
			}
		}
	}
}
