package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Where a rule speaks and where it stays silent: rests, holds, repeated notes,
// phrase ends, exchanged voices. One sonority lasts an eighth, a beat a quarter.
func TestBoundaries(t *testing.T) {
	for _, test := range []struct {
		name, music string
		rules       string // those looked at, by prefix
		want        []string
		why         string
	}{
		{"repeated fifth", "C4 G4 | C4 G4", "", nil, "a note struck again does not move"},
		{"held fifth", "C4 G4 | . .", "", nil, "nothing moves"},
		{"oblique", "C4 G4 | C4 A4 | C4 G4", "", nil, "one voice stays"},
		{"short rest", "C4 G4 | r r | D4 A4", "parallel", []string{"parallel-fifths 2"}, "a rest shorter than a beat does not excuse the fifths"},
		{"long rest", "C4 G4 | r r | r r | D4 A4", "parallel", nil, "a beat of silence parts the sonorities"},
		{"one voice rests a beat", "C4 G4 | r . | r . | D4 A4", "parallel", nil, "a beat of silence in one voice is enough"},
		{"twelfth to fifth", "C3 G4 | D4 A4", "parallel", []string{"parallel-fifths 1"}, "compound fifths count, whatever the size of the steps"},
		{"fifth to twelfth", "D4 A4 | C4 G5", "contrary", []string{"contrary-fifths 1"}, "the same by contrary motion"},
		{"unison to octave", "C4 C4 | B3 D4 | C4 C4 | D4 D5", "parallel", []string{"parallel-octaves 3"}, "unison to octave counts as octaves"},
		{"unisons", "C4 C4 | D4 D4", "parallel", []string{"parallel-unisons 1"}, "unisons have a rule of their own"},
		{"diminished fifth", "B3 F4 | C4 G4", "parallel", nil, "unequal fifths are no parallel fifths"},
		{"spelled as a sixth", "G#3 Eb4 | A3 E4", "parallel", nil, "a diminished sixth sounds like a fifth and is none"},
		{"octave leap of both", "C3 C4 | C4 C5", "parallel", nil, "only the register changes"},
		{"exchange", "C4 G4 | G3 C5", "contrary", nil, "the two notes are exchanged"},
		{"fermata", "C4' G4' | D4 A4", "parallel", []string{"parallel-fifths 1 remark"}, "between phrases for information only"},
		{"double bar", "C4 G4 || D4 A4", "parallel", []string{"parallel-fifths 1 remark"}, "between phrases for information only"},
		{"crossed pair", "G4 C4 | A4 D4", "parallel", []string{"parallel-fifths 1"}, "a pair is known by its parts, not by which sounds higher"},
		{"enharmonic", "C4 G#4 | C4 Ab4", "", nil, "a new spelling is no move"},
		{"step into octave", "F3 B4 | C4 C5", "direct", nil, "the upper voice steps"},
		{"leap into octave", "A3 G4 | C4 C5", "direct", []string{"direct-octaves 1"}, "the upper voice leaps"},
		{"leap, contrary", "E4 G4 | C4 C5", "direct", nil, "the voices move in opposite directions"},
		{"onto the note just left", "C3 E3 G3 C5 | D3 G3 B3 D5", "voice-overlap", nil, "reaching the neighbor's last note is no overlap"},
		{"unison is no crossing", "C3 G3 G3 E4", "voice-crossing", nil, "a unison is no crossing"},
		{"octave of upper voices", "C3 G3 G4 G5", "spacing", nil, "an octave is allowed"},
		{"ninth of upper voices", "C3 G3 A4 A5", "spacing", []string{"spacing 0"}, "a ninth is not"},
		{"tenor and bass", "C2 G3 C4 E4", "spacing", nil, "the lowest pair is free"},
		{"octave leap", "C3 | C4 | B3", "leap", nil, "an octave is allowed"},
		{"ninth leap", "C3 | D4 | C4", "leap", []string{"leap-over-octave 1"}, "a ninth is not"},
		{"leap between phrases", "C3' | D4 | C4", "leap", nil, "a new phrase may start anywhere"},
		{"augmented second", "Ab3 | B3 | C4", "augmented", []string{"augmented-second 1"}, "lowered sixth to raised seventh"},
		{"minor third", "Ab3 | Cb4 | Bb3", "augmented", nil, "it sounds the same and is a third"},
		{"inside a diminished seventh", "B2 D4 F4 Ab4 | B2 D4 F4 B4", "augmented", nil, "an arpeggio of one chord"},
		{"augmented fourth", "F3 | B3 | C4", "augmented", []string{"augmented-interval 1"}, "the tritone upward"},
		{"diminished fifth recovered", "F4 | B3 | C4", "diminished", nil, "a step back inside follows"},
		{"diminished fifth left by leap", "F4 | B3 | E4", "diminished", []string{"diminished-interval 1"}, "a leap back is no step"},
		{"overlap in one harmony", "C3 E3 G3 C5 | C3 C4 E4 G5", "voice-overlap", nil, "the chord is only re-voiced"},
		{"overlap in another", "C3 E3 G3 C5 | D3 C4 F4 A5", "voice-overlap", []string{"voice-overlap 1"}, "the tenor passes the alto's G"},
		{"masked fifths", "C4 G4 | . F4 | D4 A4 | . G4", "masked", []string{"masked-fifths 2"}, "from beat to beat, with a step between"},
		{"masked by a leap", "C4 G4 | . C5 | D4 A4 | . G4", "masked", nil, "a leap of a fourth in between clears the ear"},
		{"all into a cadence", "G3 F4 B4 D5 | C3 E4 G4 C5 ||", "all-one", nil, "free into a cadence"},
		{"all in one direction", "G3 F4 B4 D5 | C3 E4 G4 C5 | F3 F4 A4 C5", "all-one", []string{"all-one-direction 1"}, "everything falls"},
		{"three unisons", "C3 E3 G4 G4 | C3 E3 F4 A4 | C3 E3 G4 G4 | C3 E3 F4 A4 | C3 E3 G4 G4 | C3 E3 F4 A4", "unison", []string{"unison 4 remark"}, "the third in a phrase is told"},
		{"two unisons", "C3 E3 G4 G4 | C3 E3 F4 A4 | C3 E3 G4 G4 | C3 E3 F4 A4", "unison", nil, "two short ones pass"},
		{"diminished fifth not recovered", "F4 | B3 | A3", "diminished", []string{"diminished-interval 1"}, "it goes on outward"},
	} {
		t.Run(test.name, func(t *testing.T) {
			texture := theorytest.ChordsOf(theory.Frac(1, 2), test.music)
			var got []string
			for _, f := range partwriting.Check(texture, nil, nil) {
				if !strings.HasPrefix(string(f.Rule), test.rules) {
					continue
				}
				line := fmt.Sprintf("%s %v", f.Rule, f.Onset.Mul(theory.Whole(2)))
				if f.Severity == partwriting.Remark {
					line += " remark"
				}
				got = append(got, line)
			}
			if strings.Join(got, ", ") != strings.Join(test.want, ", ") {
				t.Errorf("%s: %v, want %v, because %s", test.music, got, test.want, test.why)
			}
		})
	}
}
