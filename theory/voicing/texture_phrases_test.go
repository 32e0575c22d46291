package voicing_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/voicing"
)

// Where phrases end the music says so: by a double bar where a measure ends, by fermatas in
// every voice within one, and in the measures of a given score by fermatas where it has no
// such bar.
func TestPhraseEndsAreWritten(t *testing.T) {
	score := []theory.Measure{
		{Label: "1", Length: theory.Whole(4), Time: theory.TimeSignature{Beats: 4, BeatType: 4}},
		{Index: 1, Label: "2", Onset: theory.Whole(4), Length: theory.Whole(4), Time: theory.TimeSignature{Beats: 4, BeatType: 4}},
	}
	barred := append([]theory.Measure{}, score...)
	barred[0].PhraseBar = true
	for _, tt := range []struct {
		name, text string
		frame      []theory.Measure
		want       string
	}{
		{"a measure ends", "C: I IV V I || I IV V I", nil, "bar 1, bar 2"},
		{"within a measure", "C: I V I*2 || IV V I || I V", nil, "bar 1, fermata 6 SATB, bar 3"},
		{"one phrase", "C: I IV V I I IV V I", nil, "bar 2"},
		{"a score without a bar", "C: I IV V I || I IV V I", score, "fermata 3 SATB"},
		{"a score with one", "C: I IV V I || I IV V I", barred, "bar 1"},
	} {
		p, err := voicing.ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		p.Layout.Frame = tt.frame
		style := voicing.Chorale()
		s, err := voicing.Solve(p.Problem(style))
		if err != nil {
			t.Fatal(err)
		}
		if got := phraseSigns(s.Texture(&style, p.Layout)); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}

// phraseSigns lists the phrase bars of a score by measure, and the fermatas by onset with
// their voices, before the bar that comes after them.
func phraseSigns(t *theory.Texture) string {
	var out []string
	for i := range t.Score.Measures {
		m := &t.Score.Measures[i]
		for k := range t.Moments {
			names := ""
			for v := range t.Voices {
				if n := t.Sounding(k, v); t.Moments[k].Measure == int32(i) && t.IsStruck(k, v) && n.Flags.Has(theory.Fermata) {
					names += t.Voices[v].Name
				}
			}
			if names != "" {
				out = append(out, fmt.Sprintf("fermata %v %s", t.Moments[k].Onset, names))
			}
		}
		if m.PhraseBar {
			out = append(out, "bar "+m.Label)
		}
	}
	return strings.Join(out, ", ")
}
