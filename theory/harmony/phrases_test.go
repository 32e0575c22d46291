package harmony

import (
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// Phrase ends as teachers mark them; common practice, no source.
func TestPhrases(t *testing.T) {
	const music = "C3 G3 E4 C5 | F3 A3 C4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5 / F3 A3 C4 A4 | C3 G3 C4 G4 | D3 F3 B3 F4 | C3 G3 C4 E4"
	cases := []struct {
		why    string
		change func(*theory.Texture)
		ends   []int // moments after each phrase
		mark   PhraseEvidence
	}{
		{"nothing marks an end but the end", func(*theory.Texture) {}, []int{8}, ByEndOfPiece},
		{"a fermata", func(t *theory.Texture) { t.Voices[0].Notes[3].Flags |= theory.Fermata }, []int{4, 8}, ByFermata},
		{"a fermata in each voice is one end", func(t *theory.Texture) {
			for v := range t.Voices {
				t.Voices[v].Notes[3].Flags |= theory.Fermata
			}
		}, []int{4, 8}, ByFermata},
		{"a breath mark", func(t *theory.Texture) { t.Voices[0].Notes[1].Flags |= theory.Breath }, []int{2, 8}, ByBreath},
		{"a double bar", func(t *theory.Texture) { t.Score.Measures[0].PhraseBar = true }, []int{4, 8}, ByBarLine},
		{"the end of a sentence", func(t *theory.Texture) { t.Voices[0].Notes[5].Flags |= theory.LyricStop }, []int{6, 8}, ByLyric},
	}
	for _, c := range cases {
		texture := theorytest.Chords(music)
		c.change(texture)
		got := Analyze(texture).Phrases
		if len(got) != len(c.ends) {
			t.Errorf("%s: %d phrases, want %d", c.why, len(got), len(c.ends))
			continue
		}
		for i, end := range c.ends {
			if got[i].EndMoment != end {
				t.Errorf("%s: phrase %d ends before moment %d, want %d", c.why, i, got[i].EndMoment, end)
			}
		}
		if !got[0].Evidence.Has(c.mark) {
			t.Errorf("%s: evidence %v", c.why, got[0].Evidence.Words())
		}
	}
	long := theorytest.Chords("C3 G3 E4 C5 | F3 A3 C4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5 | . . . . | . . . . | F3 A3 C4 A4 | C3 G3 C4 G4 | D3 F3 B3 F4 | C3 G3 C4 E4")
	if got := Analyze(long).Phrases; len(got) != 2 || got[0].EndMoment != 4 || !got[0].Evidence.Has(ByLongNote) {
		t.Errorf("three beats of standstill among quarter notes end a phrase: %+v", got)
	}
}
