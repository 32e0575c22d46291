package partwriting_test

import (
	"fmt"
	"maps"
	"sort"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
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

// With the chords named, and the names transposed, the rules that read a harmony say
// the same too.
func TestTranspositionOfNamedChordsChangesNothing(t *testing.T) {
	register := map[partwriting.RuleID]bool{"range": true, "tessitura": true, "low-spacing": true}
	told := func(texture *theory.Texture, a *harmony.Analysis) string {
		var kept []partwriting.Finding
		for _, f := range partwriting.Check(texture, a, rulesAlone) {
			if !register[f.Rule] {
				kept = append(kept, f)
			}
		}
		return located(kept)
	}
	compared := 0
	for _, music := range everyExample() {
		texture := theorytest.Chords(music)
		analysis := labeled(t, music, texture)
		if analysis == nil {
			continue
		}
		compared++
		want := told(texture, analysis)
		for _, by := range []theory.Interval{theory.MinorSecond, theory.MajorThird, theory.PerfectFifth.Invert(), theory.PerfectOctave} {
			higher := transposed(texture, by)
			var labels []harmony.Label
			for i := range analysis.Harmonies {
				reading := analysis.Harmonies[i].Reading
				reading.Key.Tonic = reading.Key.Tonic.Transpose(by)
				labels = append(labels, harmony.Label{Onset: analysis.Harmonies[i].Onset, Reading: reading})
			}
			if got := told(higher, harmony.Assume(higher, labels)); got != want {
				t.Errorf("%s\nup %v:\n%s\nwant\n%s", music, by, got, want)
			}
		}
	}
	if compared < 50 {
		t.Errorf("%d examples with names, want more to go by", compared)
	}
}

// A measure of rest in front moves every finding and changes none.
func TestARestInFrontChangesNothing(t *testing.T) {
	for _, music := range everyExample() {
		plain, later := theorytest.Chords(music), theorytest.Chords("r r r r / "+music)
		shift := later.Moments[0].Onset.Sub(plain.Moments[0].Onset)
		var want, got []string
		for _, f := range partwriting.Check(plain, nil, rulesAlone) {
			want = append(want, fmt.Sprint(f.Rule, f.Voices, f.Onset.Add(shift)))
		}
		for _, f := range partwriting.Check(later, nil, rulesAlone) {
			got = append(got, fmt.Sprint(f.Rule, f.Voices, f.Onset))
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s\n%v\nwant\n%v", music, got, want)
		}
	}
}

// A measure of rest after the end changes no finding, with the chords named or
// not.
func TestARestAfterwardsChangesNothing(t *testing.T) {
	for _, music := range everyExample() {
		plain, longer := theorytest.Chords(strings.TrimRight(music, "| ")+" ||"), theorytest.Chords(strings.TrimRight(music, "| ")+" || "+restFor(theorytest.Chords(music)))
		if got, want := outline(longer), outline(plain); got != want {
			t.Errorf("%s, then a rest\n%v\nwant\n%v", music, got, want)
		}
		analysis := labeled(t, music, plain)
		if analysis == nil {
			continue
		}
		want := located(partwriting.Check(plain, analysis, rulesAlone))
		if got := located(partwriting.Check(longer, labelsOf(analysis, longer, theory.Fraction{}, theory.Fraction{}), rulesAlone)); got != want {
			t.Errorf("%s, labeled, then a rest\n%v\nwant\n%v", music, got, want)
		}
	}
}

// A measure of rest between two phrases moves what comes after it and changes
// nothing, except what is reported across the join for information only.
func TestARestBetweenPhrasesChangesNothing(t *testing.T) {
	examples := everyExample()
	joined := 0
	for i := 0; i+1 < len(examples); i++ {
		first, second := strings.TrimRight(examples[i], "| "), examples[i+1]
		if len(theorytest.Chords(first).Voices) != 4 || len(theorytest.Chords(second).Voices) != 4 {
			continue
		}
		joined++
		together, apart := theorytest.Chords(first+" || "+second), theorytest.Chords(first+" || "+restFor(theorytest.Chords(first))+" / "+second)
		from := theorytest.Chords(first).Score.End()
		by := theory.Whole(4)
		want := located(withinPhrases(partwriting.Check(together, nil, rulesAlone)))
		got := located(withinPhrases(shiftBack(partwriting.Check(apart, nil, rulesAlone), from, by)))
		if got != want {
			t.Errorf("%s || %s\n%v\nwant\n%v", first, second, got, want)
		}
		if !strings.Contains(first, ":") || !strings.Contains(second, ":") {
			continue // not both are labeled
		}
		analysis := labeled(t, first+" || "+second, together)
		want = located(withinPhrases(partwriting.Check(together, analysis, rulesAlone)))
		got = located(withinPhrases(shiftBack(partwriting.Check(apart, labelsOf(analysis, apart, from, by), rulesAlone), from, by)))
		if got != want {
			t.Errorf("%s || %s, labeled\n%v\nwant\n%v", first, second, got, want)
		}
	}
	if joined < 20 {
		t.Errorf("%d pairs of phrases, want more to go by", joined)
	}
}

// A part that rests throughout, or that only plays elsewhere, changes no finding
// in the others.
func TestAVoiceThatRestsChangesNothing(t *testing.T) {
	lines := []string{
		"Soprano: C5 A4 B4 C5 | D5 B4 C5*2",
		"Alto: E4 F4 F4 E4 | F4 F4 E4*2",
		"Tenor: G3 A3 D4 C4 | A3 G3 G3*2",
		"Bass: C3 D3 G3 C3 | D3 G2 C3*2",
	}
	plain := separation.FindVoices(theorytest.Score(lines...))
	rested := separation.FindVoices(theorytest.Score(append(lines, "Organ: r*4 | r*4")...))
	want, got := located(partwriting.Check(plain, nil, rulesAlone)), located(partwriting.Check(rested, nil, rulesAlone))
	if want == "[]" {
		t.Fatal("nothing was found that could change")
	}
	if got != want {
		t.Errorf("with a part of rests:\n%v\nwant\n%v", got, want)
	}
}

// restFor writes a measure of rest for all voices of a texture.
func restFor(t *theory.Texture) string {
	beat := strings.TrimSpace(strings.Repeat("r ", len(t.Voices)))
	return strings.Join([]string{beat, beat, beat, beat}, " | ")
}

// located lists findings by rule, weight, voices and onset.
func located(findings []partwriting.Finding) string {
	out := []string{}
	for _, f := range findings {
		out = append(out, fmt.Sprint(f.Rule, f.Severity, f.Voices, f.Onset))
	}
	sort.Strings(out)
	return fmt.Sprint(out)
}

func withinPhrases(findings []partwriting.Finding) []partwriting.Finding {
	var out []partwriting.Finding
	for _, f := range findings {
		if f.Licence != partwriting.BetweenPhrases {
			out = append(out, f)
		}
	}
	return out
}

// shiftBack moves findings at or after an onset earlier.
func shiftBack(findings []partwriting.Finding, from, by theory.Fraction) []partwriting.Finding {
	for i := range findings {
		if !findings[i].Onset.Less(from) {
			findings[i].Onset = findings[i].Onset.Sub(by)
		}
	}
	return findings
}

// labelsOf names the chords of another texture as an analysis does, those at or
// after an onset later.
func labelsOf(a *harmony.Analysis, t *theory.Texture, from, by theory.Fraction) *harmony.Analysis {
	var labels []harmony.Label
	for i := range a.Harmonies {
		onset := a.Harmonies[i].Onset
		if by.Sign() > 0 && !onset.Less(from) {
			onset = onset.Add(by)
		}
		labels = append(labels, harmony.Label{Onset: onset, Reading: a.Harmonies[i].Reading})
	}
	return harmony.Assume(t, labels)
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
		texture := separation.FindVoices(theorytest.Score(lines...))
		var got []string
		for _, f := range partwriting.Check(texture, nil, rulesAlone) {
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
		a, b := partwriting.Check(texture, nil, rulesAlone), partwriting.Check(texture, nil, rulesAlone)
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("%s: two checks differ", music)
		}
	}
}

// outline lists findings but for rules that measure against fixed pitches.
func outline(texture *theory.Texture) string {
	register := map[partwriting.RuleID]bool{"range": true, "tessitura": true, "low-spacing": true}
	var lines []string
	for _, f := range partwriting.Check(texture, nil, rulesAlone) {
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

// rulesAlone is the default set without what is said of a hand-in as a whole: an
// empty measure is told, and changes nothing else.
var rulesAlone = func() *partwriting.RuleSet {
	set := *partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	set.Severities = maps.Clone(set.Severities)
	for _, rule := range []partwriting.RuleID{"unfinished", "misread"} {
		set.Severities[rule] = partwriting.Off
	}
	return &set
}()
