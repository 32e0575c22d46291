package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Where a phrase has a cadence though its last chord, in its own key, makes none
// (Hutchinson, chapter 10, for the cadences; which key a chord closes in is
// common practice, no source). The music is our own.
func TestCadencesInTheKeyOfEitherChord(t *testing.T) {
	for _, test := range []struct {
		name, music, roman string
		sure               bool
		want               int
	}{
		{"to another degree", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | E3 G3 B3 G4 ||", "m1 C: I b2 V b3 I b4 iii", false, 1},
		{"deceptive in the key that is left", "F3 C4 F4 A4 | Bb3 D4 F4 Bb4 | C4 E4 G4 Bb4 | D4 D4 F4 A4 ||", "m1 F: I b2 IV b3 V7 b4 C: ii", false, 0},
		{"the same two chords the other way", "F3 C4 F4 A4 | C4 E4 G4 Bb4 | F3 C4 F4 A4 | D4 D4 F4 A4 ||", "m1 F: I b2 V7 b3 I b4 C: ii", false, 1},
		{"authentic in the key of an applied dominant", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 Bb4 | F2 A3 F4 A4 ||", "m1 C: I b2 V b3 V7/IV b4 IV", true, 0},
		{"a fifth down from a major triad", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | F2 A3 F4 C5 ||", "m1 C: I b2 V b3 I b4 IV", false, 0},
		{"the same, named by somebody", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | F2 A3 F4 C5 ||", "m1 C: I b2 V b3 I b4 IV", true, 1},
		{"to an inversion", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 | A2 C4 F4 C5 ||", "m1 C: I b2 V b3 I b4 IV6", false, 1},
		{"an afterthought under a held fermata", "F2 F3 D4 A4 | G2 G3 D4 B4 | C3 G3 E4 C5' | E3 G3 B3 . ||", "m1 C: ii b2 V b3 I b4 iii", false, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			texture := theorytest.Chords(test.music)
			roman, err := harmony.ReadRomanText("Time Signature: 4/4\n\n" + test.roman + "\n")
			if err != nil || len(roman.Problems) > 0 {
				t.Fatal(err, roman.Problems)
			}
			analysis := harmony.GuidedAs(texture, roman.Annotations(texture), harmony.Replace, harmony.ByTexture)
			if !test.sure {
				for i := range analysis.Harmonies {
					analysis.Harmonies[i].Confidence = 0.7
				}
			}
			count := 0
			for _, f := range partwriting.Check(texture, analysis, nil) {
				if f.Rule == "cadence-missing" {
					count++
				}
			}
			if count != test.want {
				t.Errorf("%d findings, want %d", count, test.want)
			}
		})
	}
}

// An exercise can ask for its cadences, phrase by phrase (kinds after Butterfield,
// unit 8a).
func TestCadencesAsAskedFor(t *testing.T) {
	music := "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | V G3 G3 D4 B4 || I C3 G3 E4 C5 | ii6 F3 A3 D4 D5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 ||"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	for asked, want := range map[string]string{
		"":          "",
		"HC PAC":    "",
		"HC AC":     "",
		"- PAC":     "",
		"PAC PAC":   "SATB 3 fault",
		"HC DC":     "SATB 7 fault",
		"HC":        "",
		"HC PAC PC": "",
	} {
		set := &partwriting.RuleSet{}
		setting, _ := partwriting.SettingByName("cadences")
		if err := setting.Set(&set.Limits, asked); err != nil {
			t.Fatal(err)
		}
		if got := ruleVerdict(texture, analysis, set, "cadence-not-as-asked"); got != want {
			t.Errorf("asked for %q: %q, want %q", asked, got, want)
		}
	}
	setting, _ := partwriting.SettingByName("cadences")
	if err := setting.Set(&partwriting.Limits{}, "HC XC"); err == nil {
		t.Error("XC is taken for a cadence")
	}
}

// A tonic in root position that is named with its seventh is an end that songs have: a
// caution; with the leading tone's resolution in another inversion, or on another degree, it
// is the fault that any other end is (common practice, no source).
func TestLastTonicWithItsSeventh(t *testing.T) {
	for music, want := range map[string]string{
		"C: I C3 G3 E4 C5 | ii7 D3 A3 F4 C5 | V7 G2 B3 F4 D5 | Imaj7 C3 B3 E4 G4 ||":  "caution",
		"a: i A2 E4 A4 C5 | iv D3 F4 A4 D5 | V E3 E4 G#4 B4 | i7 A2 C4 G4 A4 ||":      "caution",
		"C: I C3 G3 E4 C5 | ii7 D3 A3 F4 C5 | V7 G2 B3 F4 D5 | Imaj65 E3 B3 C4 G4 ||": "fault",
		"C: I C3 G3 E4 C5 | V7 G2 B3 F4 D5 | I C3 G3 E4 C5 | IVmaj7 F3 A3 E4 C5 ||":   "fault",
		"C: I C3 G3 E4 C5 | ii7 D3 A3 F4 C5 | V7 G2 B3 F4 D5 | I C3 C4 E4 C5 ||":      "",
	} {
		texture := theorytest.Chords(music)
		got := ""
		for _, f := range partwriting.Check(texture, labeled(t, music, texture), nil) {
			if f.Rule == "final-chord" {
				got = f.Severity.String()
			}
		}
		if got != want {
			t.Errorf("%s: %q, want %q", music, got, want)
		}
	}
}

// Labels that end before the music or go on after it belong to a longer piece: that the
// excerpt has no close is said once, as a remark (common practice, no source).
func TestExcerptBreaksOff(t *testing.T) {
	for _, test := range []struct {
		music   string
		labeled theory.Fraction // where the last label ends
		want    string
	}{
		{"C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | V G3 G3 D4 B4 / I6 E3 G3 C4 C5 ||", theory.Whole(5), "final-chord fault"},
		{"C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | V G3 G3 D4 B4 / I6 E3 G3 C4 C5 ||", theory.Whole(3), "final-chord remark"},
		{"C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 | ii D3 A3 D4 F4 / iii E3 G3 B3 G4 ||", theory.Whole(5), "cadence-missing fault, final-chord fault"},
		{"C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 | ii D3 A3 D4 F4 / iii E3 G3 B3 G4 ||", theory.Whole(3), "final-chord remark"},
	} {
		texture := theorytest.Chords(test.music)
		analysis := labeled(t, test.music, texture)
		analysis.Given = []harmony.Annotation{{Onset: theory.Whole(0), End: test.labeled}}
		var got []string
		for _, f := range partwriting.Check(texture, analysis, nil) {
			if f.Rule == "final-chord" || f.Rule == "cadence-missing" {
				got = append(got, string(f.Rule)+" "+f.Severity.String())
			}
		}
		if strings.Join(got, ", ") != test.want {
			t.Errorf("%s, labeled to %v: %v, want %s", test.music, test.labeled, got, test.want)
		}
	}
}
