package partwriting_test

import (
	"fmt"
	"sort"
	"strings"
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// example is a worked example of a textbook: its sonorities and every fault and
// caution in it, as "rule voices sonority", voices from the top and sonorities
// counted from 1; of a move, the second one is named.
type example struct {
	source string
	music  string
	want   []string
	// why is the book's verdict in our words, and what it passed over.
	why string
}

const (
	imt10a = "Butterfield, Integrated Music Theory, unit 10a, "
	imt10b = "Butterfield, Integrated Music Theory, unit 10b, "
	hutch  = "Hutchinson, Music Theory for the 21st-Century Classroom, "
	omt    = "Open Music Theory v1, "
	imt    = "Butterfield, Integrated Music Theory, "
	common = "common practice, no source"
)

func TestPerfectIntervalExamples(t *testing.T) { runExamples(t, perfectIntervalExamples) }
func TestSpacingExamples(t *testing.T)         { runExamples(t, spacingExamples) }
func TestConnectionExamples(t *testing.T)      { runExamples(t, connectionExamples) }
func TestChromaticExamples(t *testing.T)       { runExamples(t, chromaticExamples) }
func TestModelExamples(t *testing.T)           { runExamples(t, modelExamples) }
func TestKeyboardExamples(t *testing.T)        { runExamplesIn(t, "keyboard", keyboardExamples) }

func everyExample() []string {
	var all []string
	for _, table := range [][]example{perfectIntervalExamples, spacingExamples, connectionExamples, chromaticExamples, modelExamples, keyboardExamples} {
		for _, e := range table {
			all = append(all, e.music)
		}
	}
	return all
}

// Hutchinson marks perfect fifths that go to diminished ones (figs. 26.10.1 and
// 27.3.1): a set that follows the book asks for the rule.
func TestNarrowingFifthsExamples(t *testing.T) {
	set := &partwriting.RuleSet{Severities: map[partwriting.RuleID]partwriting.Severity{"narrowing-fifths": partwriting.Caution}}
	for _, music := range []string{"C: I C3 C4 E4 G4 | viio6 D3 B3 D4 F4", "C: I64 G3 C4 E4 G4 | V7 G2 B3 D4 F4"} {
		texture := theorytest.Chords(music)
		if got := ruleVerdict(texture, labeled(t, music, texture), set, "narrowing-fifths"); got != "ST 1 caution" {
			t.Errorf("%s: %q", music, got)
		}
	}
}

func runExamples(t *testing.T, examples []example) {
	t.Helper()
	runExamplesIn(t, partwriting.DefaultRuleSet, examples)
}

func runExamplesIn(t *testing.T, set string, examples []example) {
	t.Helper()
	for i, e := range examples {
		t.Run(fmt.Sprintf("%02d", i+1), func(t *testing.T) {
			if got, want := verdict(t, e.music, set, partwriting.Caution), sorted(e.want); strings.Join(got, "\n") != strings.Join(want, "\n") {
				t.Errorf("%s\n%s\n got  %q\n want %q\n because: %s", e.source, e.music, got, want, e.why)
			}
		})
	}
}

// verdict returns the findings of at least a severity, one quarter a sonority.
func verdict(t *testing.T, music, set string, least partwriting.Severity) []string {
	texture := theorytest.Chords(music)
	var got []string
	for _, f := range partwriting.Check(texture, labeled(t, music, texture), partwriting.RuleSetByName(set)) {
		if f.Severity < least {
			continue
		}
		voices := ""
		for _, v := range f.Voices {
			voices += texture.Voices[v].Name
		}
		got = append(got, fmt.Sprintf("%s %s %d", f.Rule, voices, f.Onset.Num()+1))
	}
	return sorted(got)
}

func sorted(list []string) []string {
	out := append([]string{}, list...)
	sort.Strings(out)
	return out
}
