package partwriting_test

import (
	"fmt"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/texture"
)

// An orchestra of doubled lines must not cost without bound.
func TestFindingsAreBounded(t *testing.T) {
	for _, test := range []struct {
		voices, moments int
		compared        bool
	}{{64, 600, false}, {12, 3000, true}} {
		lines := doubledLines(test.voices, test.moments)
		if partwriting.Compared(lines) != test.compared {
			t.Errorf("%d voices over %d moments: compared %v", test.voices, test.moments, !test.compared)
		}
		// Every line counts as a voice.
		asVoices := &partwriting.RuleSet{Limits: partwriting.Limits{Texture: texture.Choir}}
		if n := len(partwriting.Check(lines, nil, asVoices)); n == 0 || n > partwriting.MaxFindings {
			t.Errorf("%d voices over %d moments: %d findings", test.voices, test.moments, n)
		}
	}
}

func doubledLines(voices, moments int) *theory.Texture {
	score := &theory.Score{Resolution: 1, Measures: []theory.Measure{{
		Label: "1", Length: theory.Whole(int64(moments)), Time: theory.TimeSignature{Beats: 4, BeatType: 4},
	}}}
	lines := make([]theory.Voice, voices)
	for v := range lines {
		lines[v].Name = fmt.Sprintf("V%d", v+1)
		low := theory.MustPitch("C4").Transpose(theory.Interval{Steps: 4 * (v % 3), Semitones: 7 * (v % 3)})
		for m := range moments {
			step := theory.Interval{Steps: m % 5, Semitones: 2 * (m % 5)}
			lines[v].Notes = append(lines[v].Notes, theory.VoiceNote{
				Pitch: low.Transpose(step), Onset: theory.Whole(int64(m)), Duration: theory.Whole(1), IDs: []theory.NoteID{0},
			})
		}
	}
	return theory.NewTexture(score, theory.OpenScore, "as written", lines)
}
