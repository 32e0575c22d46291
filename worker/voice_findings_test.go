package worker

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/worker/request"
)

// A voicing says what is wrong with it and where: a given melody that leaves the range of
// textbook sopranos, C4 to G5 (Hutchinson, Music Theory for the 21st-Century Classroom,
// ch. 26), is named at its measure and beat.
func TestVoicingsNameTheirFaults(t *testing.T) {
	_, said := voiced(t, Input{}, "progression", "C: soprano C5 E5 G5 A5 G5 E5 D5 C5")
	var out []string
	for _, f := range said.Alternatives[0].Findings {
		if f.Severity == "fault" {
			out = append(out, f.Rule)
			if f.Measure != "1" || f.Beat != 4 || !slices.Equal(f.Voices, []string{"S"}) || !strings.Contains(f.Message, "A5") {
				t.Errorf("the fault is said to be %q in measure %s, beat %g, voices %v", f.Message, f.Measure, f.Beat, f.Voices)
			}
		}
	}
	if !slices.Equal(out, []string{"range"}) || said.Alternatives[0].Faults != 1 {
		t.Errorf("faults %v, counted %d; the melody is out of range once", out, said.Alternatives[0].Faults)
	}
}

// What comes late is reported beside what it comes to (Open Music Theory v1, thoroughbass
// figures: 4-3 and 7-6 over one bass note, 5/2 under a held bass).
func TestLateNotesAreReported(t *testing.T) {
	for _, tt := range []struct {
		text  string
		chord int
		late  string
	}{
		{"C: bass C3*2 G2/4-3*2 C3*2", 1, "C5"},
		{"C: bass F3/6*2 E3/7-6*2 D3*2", 1, "D"},
		{"C: bass C3*2 C3/52*2 B2/6*2 C3*2", 1, "C3"},
		{"C: bass C3*2 G2*2 C3*2", 1, ""},
	} {
		_, said := voiced(t, Input{}, "progression", tt.text)
		got := strings.Join(said.Alternatives[0].Chords[tt.chord].Late, "")
		if !strings.HasPrefix(got, tt.late) || tt.late == "" && got != "" {
			t.Errorf("%s: %q comes late in chord %d, want %q", tt.text, got, tt.chord+1, tt.late)
		}
	}
	_, said := voiced(t, Input{}, "progression", "C: I vi ii V7 I", "density", "1")
	for _, c := range said.Alternatives[0].Chords {
		if c.Late != nil {
			t.Errorf("%s: %v is an added note", c.Numeral, c.Late)
		}
	}
}

// A line in another octave than its voice sings is refused with its range; of a score also
// with its measure.
func TestLinesInAnotherOctaveAreNamed(t *testing.T) {
	for text, want := range map[string]string{
		"C: bass C5 F4 G4 C5":    "B C5, which lies above its range of E2 to D4",
		"C: soprano C3 D3 B2 C3": "S C3, which lies below its range of C4 to G5",
	} {
		_, err := do(Input{}, &request.Voice{}, "progression", text)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	high := figuredScore(0, "C3:4|G2:4|C5:8")
	var input *musicxml.InputError
	if _, err := do(Input{Name: "high.musicxml", Data: []byte(high)}, &request.Voice{}, "gives", "bass"); !errors.As(err, &input) || input.Measure != "2" || !strings.Contains(input.Problem, "B C5") {
		t.Errorf("%v, want the bass C5 in measure 2", err)
	}
}
