package worker

import (
	"errors"
	"slices"
	"testing"

	"partwright/theory/voicing"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Roots a fifth apart share one tone, which stays, and the other two step
// (Hutchinson, Music Theory for the 21st-Century Classroom, fig. 26.7.2); roots a
// second apart share none, and the upper voices go against the bass (fig. 26.7.3).
func TestContinuationsAreGroupedAsTaught(t *testing.T) {
	for _, tt := range []struct {
		chords, from, way string
		want              []string
		why               string
	}{
		{"C: I V", "E5 G4 C4 C3", "keep-common", []string{"D5", "G4", "B3", "G3"}, "G is common"},
		{"C: V", "E5 G4 C4 C3", "keep-common", []string{"D5", "G4", "B3", "G3"}, "the notes name the tonic"},
		{"C: I ii", "C5, G4, E4, C3", "against-bass", []string{"A4", "F4", "D4", "D3"}, "nothing is common"},
	} {
		_, r := done[*report.Continuation](t, Input{}, &request.Continue{}, "chords", tt.chords, "from", tt.from, "best", "1")
		if r.From.Numeral != "I" || r.Groups[0].Way != tt.way {
			t.Errorf("%s: from %s, the first group is %s, want %s", tt.why, r.From.Numeral, r.Groups[0].Way, tt.way)
		}
		if got := r.Groups[0].Options[0].Pitches; !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, want %v", tt.why, got, tt.want)
		}
		for _, g := range r.Groups {
			for _, o := range g.Options {
				if len(o.Onward) != len(r.Then) {
					t.Errorf("%d counts for %d chords", len(o.Onward), len(r.Then))
				}
			}
		}
	}
}

// What usually follows is asked about unless the caller says what: after a
// dominant the tonic and the sixth degree, never the predominants.
func TestUsualChordsAfterADominant(t *testing.T) {
	_, r := done[*report.Continuation](t, Input{}, &request.Continue{}, "chords", "a: i V", "from", "E5 C5 A4 A3")
	var then []string
	for _, c := range r.Then {
		then = append(then, c.Numeral)
	}
	if !slices.Contains(then, "i") || !slices.Contains(then, "VI") || slices.Contains(then, "iv") || slices.Contains(then, "iio6") {
		t.Errorf("after V: %v", then)
	}
}

func TestContinueRequestsAreChecked(t *testing.T) {
	for _, tt := range []struct {
		pairs []string
		// field is what a request or its plan finds wrong, "" for what the engine does.
		field, why string
	}{
		{[]string{"chords", "C: I V", "from", "E5 G4 C3"}, "", "a note is missing"},
		{[]string{"chords", "C: I V", "from", "E5 G4 C4 c3"}, "from", "no pitch"},
		{[]string{"chords", "C: I V", "from", "F5 A4 C4 F3"}, "", "the notes of another chord"},
		{[]string{"chords", "C: V6 I", "from", "G4 B4 D4 B2"}, "", "crossed voices"},
		{[]string{"chords", "C: V", "from", "E5 D5 C4 C3"}, "", "a cluster names no chord"},
		{[]string{"chords", "C: I V", "from", "E5 G4 C4 C3", "style", "opera"}, "style", "no style"},
		{[]string{"chords", "C: I V", "from", "E5 G4 C4 C3", "best", "-1"}, "best", "less than none"},
	} {
		_, err := do(Input{}, &request.Continue{}, tt.pairs...)
		if !refused(err, tt.field) {
			t.Errorf("%s: %v, want a request error", tt.why, err)
		}
	}
	var unreadable *voicing.ProgressionError
	_, err := do(Input{}, &request.Continue{}, "chords", "C: I V", "from", "E5 G4 C4 C3", "then", "IX")
	if !errors.As(err, &unreadable) {
		t.Errorf("%v, want a progression error", err)
	}
}
