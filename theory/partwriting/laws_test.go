package partwriting_test

import (
	"fmt"
	"sort"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Transposing a passage changes no finding but those about range and register.
func TestTranspositionChangesNothing(t *testing.T) {
	for _, music := range everyExample() {
		original := theorytest.Chords(music)
		want := outline(original)
		for _, by := range []theory.Interval{theory.MinorSecond, theory.MajorThird, theory.PerfectFifth.Invert(), theory.PerfectOctave} {
			if got := outline(transposed(original, by)); got != want {
				t.Errorf("%s\nup %v:\n%s\nwant\n%s", music, by, got, want)
			}
		}
	}
}

// A measure of rest in front moves every finding and changes none.
func TestARestInFrontChangesNothing(t *testing.T) {
	for _, music := range everyExample() {
		plain, later := theorytest.Chords(music), theorytest.Chords("r r r r / "+music)
		shift := later.Moments[0].Onset.Sub(plain.Moments[0].Onset)
		var want, got []string
		for _, f := range partwriting.Check(plain, nil, nil) {
			want = append(want, fmt.Sprint(f.Rule, f.Voices, f.Onset.Add(shift)))
		}
		for _, f := range partwriting.Check(later, nil, nil) {
			got = append(got, fmt.Sprint(f.Rule, f.Voices, f.Onset))
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s\n%v\nwant\n%v", music, got, want)
		}
	}
}

// The order in which a document lists its parts changes no finding.
func TestOrderOfPartsChangesNothing(t *testing.T) {
	parts := []string{
		"Soprano: C5 A4 B4 C5 | D5 B4 C5*2",
		"Alto: E4 F4 F4 E4 | F4 F4 E4*2",
		"Tenor: G3 A3 D4 C4 | A3 G3 G3*2",
		"Bass: C3 D3 G3 C3 | D3 G2 C3*2",
	}
	var want string
	for _, order := range [][]int{{0, 1, 2, 3}, {3, 2, 1, 0}, {1, 3, 0, 2}, {2, 0, 3, 1}} {
		var lines []string
		for _, i := range order {
			lines = append(lines, parts[i])
		}
		texture := theory.FindVoices(theorytest.Score(lines...))
		var got []string
		for _, f := range partwriting.Check(texture, nil, nil) {
			names := ""
			for _, v := range f.Voices {
				names += texture.Voices[v].Name
			}
			got = append(got, fmt.Sprint(f.Rule, names, f.Onset))
		}
		if want == "" {
			want = fmt.Sprint(got)
			if len(got) == 0 {
				t.Fatal("nothing was found that could change")
			}
		}
		if fmt.Sprint(got) != want {
			t.Errorf("parts in order %v:\n%v\nwant\n%v", order, got, want)
		}
	}
}

func TestCheckingTwiceGivesTheSame(t *testing.T) {
	for _, music := range everyExample() {
		texture := theorytest.Chords(music)
		a, b := partwriting.Check(texture, nil, nil), partwriting.Check(texture, nil, nil)
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("%s: two checks differ", music)
		}
	}
}

// outline lists findings but for rules that measure against fixed pitches.
func outline(texture *theory.Texture) string {
	register := map[partwriting.RuleID]bool{"range": true, "tessitura": true, "low-spacing": true}
	var lines []string
	for _, f := range partwriting.Check(texture, nil, nil) {
		if !register[f.Rule] {
			lines = append(lines, fmt.Sprint(f.Rule, f.Severity, f.Voices, f.Onset, f.Notes))
		}
	}
	sort.Strings(lines)
	return fmt.Sprint(lines)
}

func transposed(t *theory.Texture, by theory.Interval) *theory.Texture {
	voices := make([]theory.Voice, len(t.Voices))
	for v := range t.Voices {
		voices[v] = t.Voices[v]
		voices[v].Notes = append([]theory.VoiceNote(nil), t.Voices[v].Notes...)
		for n := range voices[v].Notes {
			voices[v].Notes[n].Pitch = voices[v].Notes[n].Pitch.Transpose(by)
		}
	}
	return theory.NewTexture(t.Score, t.Layout, t.Found, voices)
}
