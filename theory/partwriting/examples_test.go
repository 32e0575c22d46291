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
	common = "common practice, no source"
)

var perfectIntervalExamples = []example{
	{imt10b + "example 1", "C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4 | I C3 C4 E4 C5",
		[]string{"parallel-octaves ST 3", "parallel-octaves ST 4"}, "the doubled leading tone makes octaves on both sides"},
	{imt10b + "example 2", "C: I C3 G3 E4 C5 | ii D3 A3 F4 A4 | V7 G3 D4 F4 B4 | I C3 C4 E4 C5",
		[]string{"parallel-fifths TB 2", "parallel-fifths TB 3"}, "bass and tenor a fifth apart three times"},
	{imt10b + "example 3", "C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4 | I C3 C3 E4 C5",
		[]string{"parallel-octaves ST 3", "contrary-octaves ST 4", "voice-overlap TB 4", "spacing AT 4"}, "octaves by contrary motion are octaves; the tenor also falls past the G that the bass leaves"},
	{imt10b + "example 4", "C: I C3 G3 E4 C5 | ii D2 A3 F4 A4 | V7 G2 D3 F4 B4 | I C3 C4 E4 C5",
		[]string{"range B 2", "contrary-fifths TB 2", "direct-fifths SB 2", "contrary-fifths TB 3", "spacing AT 3"}, "fifths by contrary motion; the book lets the low D and the direct fifth pass"},
	{imt10b + "example 5", "C: I C3 C4 E4 C5 | ii D3 A3 F4 D5 | V65 B2 G3 F4 D5 | I C3 E3 G4 C5",
		[]string{"parallel-octaves SB 2", "spacing AT 4"}, "the book shows the unequal fifths and passes over the octaves of the outer voices"},
	{imt10b + "example 6", "C: I C3 C4 G4 E5 | vi A2 C4 A4 A4 | IV F2 C4 F4 A4 | V7 G2 D4 F4 B4 | I C3 C4 E4 C5",
		[]string{"direct-octaves SB 2", "parallel-octaves AB 3", "parallel-fifths TB 4"}, "the soprano leaps a fifth into the octave; the book passes over the parallels"},
	{hutch + "fig. 26.3.1a", "C: V G3 D4 G4 B4 | vi A3 E4 E4 C5", []string{"parallel-fifths TB 2"}, "V to vi, everything rising"},
	{hutch + "fig. 26.3.1b", "C: V G3 B3 D4 D5 | vi A3 C4 E4 C5", []string{"parallel-fifths AB 2"}, "V to vi, everything rising"},
	{hutch + "fig. 26.3.1c", "C: V6 B2 G3 G4 D5 | vi A2 A3 E4 E5", []string{"parallel-fifths ST 2"}, "V6 to vi"},
	{hutch + "fig. 26.3.1d", "C: V G2 B3 D4 G4 | vi A2 C4 E4 A4", []string{"parallel-octaves SB 2", "parallel-fifths AB 2"}, "fifths and octaves at once"},
	{hutch + "fig. 26.10.1", "C: ii6 F3 D4 D4 A4 | I64 G3 C4 E4 G4", []string{"parallel-fifths ST 2"}, "ii6 to I6/4 with the fifth on top"},
	{hutch + "fig. 26.10.2", "C: ii6 F3 D4 A4 D5 | I64 G3 E4 G4 C5", nil, "turned over, the fifths are fourths"},
	{hutch + "fig. 26.10.2", "C: I C3 E4 G4 C5 | viio6 D3 D4 F4 B4", nil, "turned over, the fifths are fourths"},
	{common, "C: I C3 G3 E4 C5 | ii D3 A3 D4 F4", []string{"parallel-fifths TB 2"}, "root position a step up"},
	{common, "C: I C3 C4 E4 G4 | V G2 G3 D4 B4", []string{"parallel-octaves TB 2"}, "tenor follows bass"},
	{common, "C: I C3 G3 E4 C5 | IV F2 C4 F4 A4", []string{"contrary-fifths TB 2"}, "fifth to twelfth"},
	{common, "C: IV F2 C4 F4 A4 | V G2 B3 D4 D5", []string{"direct-fifths SB 2"}, "the soprano leaps a fourth into the nineteenth"},
	{common, "C: I C3 C4 E4 G4 | V G2 D4 B3 G4", []string{"voice-crossing AT 2"}, "tenor above alto, told once and not as overlap too"},
	{common, "C: I C3 E3 C4 G4 | IV F3 A3 C4 F4", []string{"voice-overlap TB 2"}, "the bass passes the tenor's E3"},
	{common, "C: I C3 G3 C4 E5 | V G2 G3 B3 D5", []string{"spacing SA 1", "spacing SA 2"}, "a tenth between soprano and alto"},
	{common, "C: I C3 E4 G4 C5 | IV F2 C4 F4 A4", nil, "all voices fall, no perfect interval repeats"},
}

var spacingExamples = []example{
	{imt10a + "example 1", "C3 G3 E4 C6", []string{"range S 1", "spacing SA 1"}, "soprano two octaves above the alto's third"},
	{imt10a + "example 1", "C3 G3 E5 C6", []string{"range S 1", "range A 1", "spacing AT 1"}, "alto out of reach of the tenor"},
	{imt10a + "example 1", "C3 G4 E5 C6", []string{"range S 1", "range A 1"}, "wide at the bottom only: spacing is right"},
	{imt10a + "example 1", "C3 G3 E4 C5", nil, "close position"},
}

var connectionExamples = []example{
	{hutch + "section 26.7.2", "C: I C3 C4 G4 E5 | V G3 B3 G4 D5", nil, "the common tone is kept"},
	{hutch + "section 26.7.2", "C: I C3 C4 G4 E5 | IV F3 C4 A4 F5", nil, "the common tone is kept"},
	{hutch + "section 26.7.2", "C: I C3 C4 E4 G4 | V G3 D4 G4 B4", nil, "all one way"},
	{hutch + "section 26.7.2", "C: I C3 E4 G4 C5 | IV F3 C4 F4 A4", nil, "upper voices against the bass"},
	{hutch + "fig. 26.7.2", "C: I C3 G3 C4 E4 | iii E3 G3 B3 E4", nil, "two common tones"},
	{hutch + "fig. 26.7.3", "C: I C3 E4 G4 C5 | ii D3 D4 F4 A4", nil, "upper voices against the bass"},
	{hutch + "fig. 26.7.5", "C: V G2 G3 D4 B4 | vi A2 E3 C4 C5", nil, "leading tone up, third doubled"},
	{hutch + "fig. 26.7.6", "C: V G2 B3 D4 G4 | vi A2 A3 C4 E4", nil, "inner leading tone falls, in major"},
	{hutch + "fig. 26.7.4", "c: V G2 G3 D4 B4 | VI Ab2 Eb3 C4 C5", nil, "the minor form with the third doubled"},
	{hutch + "fig. 26.7.4", "c: V G2 G3 D4 B4 | VI Ab2 Eb3 C4 Ab4", []string{"augmented-second S 2"}, "the soprano falls an augmented second"},
	{hutch + "section 27.3", "C: V7 G3 D4 F4 B4 | I C3 C4 E4 C5", nil, "complete to incomplete"},
	{hutch + "section 27.3", "C: V7 G3 B3 F4 G4 | I C3 C4 E4 G4", nil, "incomplete to complete"},
	{hutch + "fig. 27.4.2", "C: viiø7 B2 F3 D4 A4 | I C3 E3 C4 G4", []string{"parallel-fifths SA 2"}, "the seventh above the third"},
	{hutch + "fig. 27.4.2", "C: viiø7 B2 F3 D4 A4 | I C3 E3 E4 G4", nil, "the third rises instead"},
	{hutch + "fig. 29.4.1", "a: Ger65 F3 C4 D#4 A4 | V E3 B3 E4 G#4", []string{"parallel-fifths TB 2"}, "the German sixth goes to V in fifths"},
	{hutch + "fig. 29.4.1", "a: It6 F3 A3 D#4 A4 | V E3 B3 E4 G#4", nil, "the Italian sixth opens to the octave"},
	{hutch + "fig. 29.4.4", "a: Fr43 F3 B3 D#4 A4 | V7 E3 B3 D4 G#4", nil, "D sharp slides to D"},
	{common, "a: VI F2 A3 C4 F4 | V E2 B3 E4 G#4", []string{"augmented-second S 2"}, "lowered sixth to raised seventh"},
	{common, "C: IV F2 A3 C4 F4 | V6 B2 G3 D4 G4", []string{"augmented-interval B 2"}, "the bass leaps an augmented fourth"},
	{common, "C: IV F3 A3 C4 F4 | V6 B2 G3 D4 G4", nil, "a diminished fifth down instead"},
}

func TestPerfectIntervalExamples(t *testing.T) { runExamples(t, perfectIntervalExamples) }
func TestSpacingExamples(t *testing.T)         { runExamples(t, spacingExamples) }
func TestConnectionExamples(t *testing.T)      { runExamples(t, connectionExamples) }

func everyExample() []string {
	var all []string
	for _, table := range [][]example{perfectIntervalExamples, spacingExamples, connectionExamples} {
		for _, e := range table {
			all = append(all, e.music)
		}
	}
	return all
}

func runExamples(t *testing.T, examples []example) {
	t.Helper()
	for i, e := range examples {
		t.Run(fmt.Sprintf("%02d", i+1), func(t *testing.T) {
			if got, want := verdict(e.music, partwriting.Caution), sorted(e.want); strings.Join(got, "\n") != strings.Join(want, "\n") {
				t.Errorf("%s\n%s\n got  %q\n want %q\n because: %s", e.source, e.music, got, want, e.why)
			}
		})
	}
}

// verdict returns the findings of at least a severity, one quarter a sonority.
func verdict(music string, least partwriting.Severity) []string {
	texture := theorytest.Chords(music)
	var got []string
	for _, f := range partwriting.Check(texture, nil) {
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
