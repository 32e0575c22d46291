package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Where rules about outer lines, progressions and cadences speak, and where they
// stay silent; a quarter to a sonority, chords as labeled. The music is our own;
// each rule names the source of its reading.
func TestLinesAndProgressions(t *testing.T) {
	for _, test := range []struct{ rule, music, want, why string }{
		{"static-soprano", "C: I C3 E4 G4 C5 | IV F3 F4 A4 C5 | vi A2 E4 A4 C5", "S 0 remark", "one pitch over three roots"},
		{"static-soprano", "C: I C3 E4 G4 C5 | IV F3 F4 A4 C5 | V G3 D4 G4 B4", "", "two are not many"},
		{"static-soprano", "C: I C3 E4 G4 C5 | I6 E3 E4 G4 C5 | IV F3 F4 A4 C5 | V G3 D4 G4 B4", "", "an inversion is no new root"},
		{"soprano-turns-back", "C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 E4 C5 | B2 G3 D4 D5 / C3 G3 E4 C5", "S 1 remark", "to D and back, twice"},
		{"soprano-turns-back", "C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 E4 C5 | G3 G3 D4 B4", "", "once"},
		{"narrow-bass", "C: I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I6 E3 G3 C4 C5 | ii6 F3 A3 D4 D5 / V42 F3 G3 D4 B4 | I6 E3 G3 C4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5 ||", "B 0 remark", "seven roots over a fourth"},
		{"narrow-bass", "C: I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I6 E3 G3 C4 C5 | ii6 F3 A3 D4 D5 / V G3 G3 D4 B4 | I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5 ||", "", "a fifth is room enough"},
		{"bass-held-into-strong-beat", "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 / vi6 C3 A3 E4 A4 | ii D3 A3 D4 F4", "B 4 caution", "C on the weak beat, and again on the downbeat"},
		{"bass-held-into-strong-beat", "C: I C3 G3 E4 C5 | I6 E3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 F4 C5 / V42 F3 G3 D4 B4 | I6 E3 G3 C4 C5", "", "the bass becomes the seventh"},
		{"weak-progression", "C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | I C3 G3 C4 E4", "SATB 2 caution", "no dominant between"},
		{"weak-progression", "C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | V G2 B3 D4 G4 | I C3 G3 C4 E4", "", "a dominant between"},
		{"weak-progression", "C: I C3 G3 C4 E4 | ii D3 A3 D4 F4 | I6 E3 G3 C4 G4", "", "the bass passes from I to I6"},
		{"weak-progression", "C: ii D3 A3 D4 F4 | I6 E3 G3 C4 G4 | IV F3 A3 C4 A4", "", "I6 passes from ii to IV"},
		{"weak-progression", "unsure C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | I C3 G3 C4 E4", "SATB 2 remark", "a reading of our own"},
		{"leap-after-leap", "C3 C4 | C3 F4 | C3 B3 | C3 G4", "V1 3 caution", "fourth, fifth and sixth in turn"},
		{"leap-after-leap", "C3 C4 | C3 E4 | C3 B3 | C3 G4", "", "a third is no great leap"},
		{"leap-after-leap", "C3 C4 | C3 G4 | C3 C4 | C3 G4", "", "the notes belong to one chord"},
		{"cadential-six-four-unprepared", "C: IV F3 A3 D4 F4 | Cad64 G3 G3 E4 C5 | V G3 G3 D4 B4", "S 1 caution", "the fourth is reached by a leap"},
		{"cadential-six-four-unprepared", "C: IV F3 A3 F4 C5 | Cad64 G3 G3 E4 C5 | V G3 G3 D4 B4", "", "held, and by step"},
		{"retrogression", "C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 C4 C5", "SATB 2 fault", "the chords are named"},
		{"retrogression", "unsure C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | IV F3 A3 C4 C5", "SATB 2 caution", "a reading of our own"},
		{"inner-leading-tone-unresolved", "C: V7 G3 B3 F4 D5 | I C3 C3 E4 C5", "T 1 caution", "a seventh down to the tonic"},
		{"inner-leading-tone-unresolved", "C: V7 G3 B3 F4 D5 | I C3 G3 E4 C5", "", "a third down to the fifth"},
	} {
		music, unsure := strings.CutPrefix(test.music, "unsure ")
		texture := theorytest.Chords(music)
		analysis := labeled(t, music, texture)
		for i := range lenOf(analysis) {
			if unsure {
				analysis.Harmonies[i].Confidence = 0.7
			}
		}
		if got := ruleVerdict(texture, analysis, nil, test.rule); got != test.want {
			t.Errorf("%s: %s\n got  %s\n want %s\n because: %s", test.rule, test.music, got, test.want, test.why)
		}
	}
}

func lenOf(a *harmony.Analysis) int {
	if a == nil {
		return 0
	}
	return len(a.Harmonies)
}

// ruleVerdict returns the findings of one rule: voices, sonority from 0, severity.
func ruleVerdict(texture *theory.Texture, a *harmony.Analysis, set *partwriting.RuleSet, rule string) string {
	var got []string
	for _, f := range partwriting.Check(texture, a, set) {
		if string(f.Rule) == rule {
			got = append(got, fmt.Sprintf("%s %v %s", voicesOf(texture, &f), f.Onset, f.Severity))
		}
	}
	return strings.Join(got, ", ")
}

// A leading tone in minor that is written as the lowered tonic is told where nobody
// has named the chords; B flat that falls to A is no leading tone.
func TestMisspelledLeadingTone(t *testing.T) {
	for music, want := range map[string]string{
		"i A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 Ab4 | A2 C4 E4 A4 / A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 Ab4 | A2 C4 E4 A4 ||": "S 3 fault, S 7 fault",
		"i A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 G#4 | A2 C4 E4 A4 / A2 E4 A4 C5 | D3 F4 A4 D5 | E3 B3 E4 G#4 | A2 C4 E4 A4 ||": "",
	} {
		texture := theorytest.Chords(strings.TrimPrefix(music, "i "))
		if got := ruleVerdict(texture, harmony.Analyze(texture), nil, "leading-tone-misspelled"); got != want {
			t.Errorf("%s: %q, want %q", music, got, want)
		}
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

// Parallels that a passing note makes (Hutchinson, fig. 28.2.2) weigh as the set
// has it: a fault in strict style, a caution at the keyboard, nothing in free style.
func TestEmbellishedParallels(t *testing.T) {
	music := "C: I C3 G3 C4 E4 | - C3 (A3) C4 E4 | V G2 G3 B3 D4"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	for name, want := range map[string]string{"strict-chorale": "ST 2 fault", "keyboard": "ST 2 caution", "free": ""} {
		if got := ruleVerdict(texture, analysis, partwriting.RuleSetByName(name), "parallel-fifths"); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}
