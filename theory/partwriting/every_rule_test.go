package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/texture"
	"partwright/theory/theorytest"
)

// moreExamples are short cases of our own for rules that no textbook example in
// these tests breaks: rule, then music, a quarter to a sonority, or after "half"
// an eighth; "piano" takes it for piano music, "again" repeats the first measure, "symbol" labels the second quarter
// E-flat minor.
var moreExamples = map[partwriting.RuleID]string{
	"unfinished":                      "C3 G3 E4 C5 | F3 A3 F4 C5 | G3 B3 D4 B4 | C3 G3 E4 C5 / C3 r r C5 | F3 r r C5 | G3 r r B4 | C3 r r C5",
	"misread":                         "C3 G4 E4 C5 | F3 A4 F4 C5 | G3 G4 D4 B4 | C3 G4 E4 C5 / F3 A4 F4 C5 | G3 G4 D4 B4 | C3 G4 E4 C5 | C3 G4 E4 C5",
	"given-line-changed":              "C3 G3 E4 C5 | F3 A3 F4 C5 | G3 B3 D4 D5 | C3 G3 E4 E5",
	"octave-doubling":                 "piano C3 C4 E4 C5 | D3 D4 F4 D5",
	"consecutives-at-repeat":          "again C3 G3 E4 C5 | F3 F3 A4 C5 | G2 D4 B4 D5 | D3 A3 F4 D5",
	"narrowing-fifths":                "C4 G4 | B3 F4",
	"direct-perfects-other-pairs":     "C3 A3 C4 F4 | D3 D4 G4 A4 | E3 C4 G4 C5",
	"parallel-fourths":                "C: I64 G3 C4 E4 C5 | IV F3 Bb3 D4 C5",
	"parallel-seconds-sevenths":       "C4 D4 | D4 E4",
	"low-spacing":                     "A2 C3 E4 A4 | D3 A3 F4 D5",
	"bass-gap":                        "C2 C4 E4 G4 | G2 D4 G4 B4",
	"hand-span":                       "C3 G3 E4 C5",
	"unison":                          "C3 E3 G4 G4 | F3 C4 G4 G4 | C3 E3 C4 G4",
	"leap-over-octave":                "C3 | D4 | C4",
	"unrecovered-leap":                "C3 C4 | D3 A4 | E3 B4 | F3 A4",
	"successive-leaps":                "C3 C4 | D3 F4 | E3 B4 | F3 A4",
	"masked-fifths":                   "half C4 G4 | . F4 | D4 A4 | . G4",
	"masked-octaves":                  "half C3 C4 | . B3 | D3 D4 | . C4",
	"altered-tone-doubled":            "C: I C3 G3 E4 C5 | bVI Ab2 Ab3 C4 Eb4 | iv6 Ab2 Ab3 F4 C5 | I G2 G3 E4 C5",
	"bass-doubled-in-six":             "C: IV F3 A3 C4 F4 | I6 E3 G3 C4 E4 | ii D3 A3 D4 F4",
	"note-outside-chord":              "C: I C3 G3 E4 C5 | V G3 G3 D4 C5 | I C3 G3 E4 G4",
	"member-misspelled":               "a: i A2 E4 A4 C5 | V E3 B3 E4 Ab4 | i A2 C4 E4 A4",
	"label-disagrees":                 "symbol C3 G3 E4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5",
	"inversion-not-as-named":          "C: I C3 G3 E4 C5 | V6 G3 G3 D4 B4 | I C3 G3 E4 C5",
	"tritone-unresolved":              "C: I6 E3 G3 C4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5",
	"six-four-doubling":               "C: vi A2 C4 E4 A4 | Cad64 G2 C4 E4 C5 | V G2 B3 D4 B4",
	"diminished-triad-doubling":       "C: I C3 G3 E4 C5 | iio6 F3 Ab3 D4 Ab4 | V G3 G3 D4 B4",
	"fifth-missing":                   "C: I C3 G3 E4 C5 | V6 B2 G3 B3 G4 | I C3 G3 C4 E4",
	"inflection-not-as-named":         "a: i A2 E4 A4 C5 | V E3 E4 G4 B4 | i A2 E4 A4 C5",
	"seventh-missing":                 "C: I C3 G3 E4 C5 | V7 G3 G3 D4 B4 | I C3 G3 E4 C5",
	"diminished-triad-root-position":  "C: I C3 G3 E4 C5 | viio B2 F3 D4 F4 | I C3 E3 C4 E4",
	"applied-leading-tone-unresolved": "C: I C3 G3 E4 C5 | V6/V F#3 D4 A4 D5 | V D3 G3 G4 B4",
	"cadential-six-four-unresolved":   "C: ii6 F3 A3 D4 A4 | Cad64 G3 G3 C4 E4 | V G3 G3 D4 G4",
	"cadential-six-four-weak":         "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | Cad64 G3 G3 E4 C5 / V G3 G3 D4 B4",
	"cadence-missing":                 "C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 | ii D3 A3 D4 F4 | iii E3 G3 B3 G4 ||",
	"final-chord":                     "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | V G3 G3 D4 B4 | I6 E3 G3 C4 C5 ||",
	"opening":                         "C: IV F3 A3 F4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5",
	"suspension-note-anticipated":     "C: I C3 E4 G4 C5 | V G3 B3 G4 C5 | - G3 B3 G4 B4 | I C3 C4 G4 C5",
	"augmented-sixth-unresolved":      "a: It6 F3 A3 D#4 A4 | V E3 B3 B3 G#4",
	"neapolitan-unresolved":           "c: N6 F3 F4 Ab4 Db5 | V G3 D4 G4 F5",
	"altered-tone-unresolved":         "C: iv F3 F4 Ab4 C5 | I C3 E4 C5 C5",
	"chromatic-doubling":              "a: It6 F3 F3 D#4 A4 | V E3 E3 E4 G#4",
	"leading-tone-not-raised":         "a: i A2 E4 A4 C5 | iv D3 F4 A4 D5 | i A2 E4 A4 C5 | v E3 E4 G4 B4 / i A2 E4 A4 C5 | iv D3 F4 A4 D5 | v E3 E4 G4 B4 | i A2 E4 A4 C5 ||",
	"restless-upper-voices":           "C: I C3 G3 C4 E4 | IV F3 C4 F4 A4",
	"inner-leading-tone-unresolved":   "C: V7 G3 B3 F4 D5 | I C3 C3 E4 C5",
	"cadential-six-four-unprepared":   "C: IV F3 A3 D4 F4 | Cad64 G3 G3 E4 C5 | V G3 G3 D4 B4",
	"leap-after-leap":                 "C3 C4 | C3 F4 | C3 B3 | C3 G4",
	"weak-progression":                "C: vi A2 C4 E4 A4 | ii D3 A3 D4 F4 | I C3 G3 C4 E4",
	"cadence-not-as-asked":            "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | I C3 G3 E4 C5 | V G3 G3 D4 B4 ||",
	"leading-tone-misspelled":         "a: i A2 E4 A4 C5 | iv D3 F4 A4 D5 | V E3 B3 E4 Ab4 | i A2 C4 E4 A4 / i A2 E4 A4 C5 | iv D3 F4 A4 D5 | V E3 B3 E4 Ab4 | i A2 C4 E4 A4 ||",
	"soprano-turns-back":              "C3 G3 E4 C5 | B2 G3 D4 D5 | C3 G3 E4 C5 | B2 G3 D4 D5 / C3 G3 E4 C5",
	"narrow-bass":                     "C: I C3 G3 E4 C5 | viio6 D3 F3 D4 B4 | I6 E3 G3 C4 C5 | ii6 F3 A3 D4 D5 / V42 F3 G3 D4 B4 | I6 E3 G3 C4 C5 | viio6 D3 F3 D4 B4 | I C3 G3 E4 C5 ||",
	"bass-held-into-strong-beat":      "C: I C3 G3 E4 C5 | IV F3 A3 F4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5 / vi6 C3 A3 E4 A4 | ii D3 A3 D4 F4",
	"static-soprano":                  "C: I C3 E4 G4 C5 | IV F3 F4 A4 C5 | ii7 D3 F4 A4 C5 | vi A2 E4 A4 C5",
	"tessitura":                       "C3 G3 E4 F5 | C3 G3 E4 G5 | C3 G3 E4 F5 | C3 G3 E4 G5",
	"species-dissonance":              "D4 A4 | F4 G4 | E4 C#5 | D4 D5",
	"species-opening":                 "D4 F4 | E4 C#5 | D4 D5",
	"species-close":                   "D4 A4 | E4 B4 | D4 A4",
	"imperfect-run":                   "C4 E4 | D4 F4 | E4 G4 | F4 A4 | E4 G4",
	"climax-repeated":                 "C4 G4 | D4 F4 | C4 G4 | C4 E4",
}

// Every rule speaks somewhere, and its message is filled in in every language.
func TestEveryRuleSpeaks(t *testing.T) {
	spoken := map[partwriting.RuleID]bool{}
	everything := &partwriting.RuleSet{Name: "everything", Severities: map[partwriting.RuleID]partwriting.Severity{}, Limits: partwriting.Limits{Species: 1, Cadences: []string{"PAC"}}}
	for _, r := range partwriting.Rules() {
		everything.Severities[r.ID] = max(r.Severity, partwriting.Remark)
	}
	listen := func(music string) {
		unit := theory.Whole(1)
		music, half := strings.CutPrefix(music, "half ")
		if half {
			unit = theory.Frac(1, 2)
		}
		music, again := strings.CutPrefix(music, "again ")
		music, piano := strings.CutPrefix(music, "piano ")
		everything.Limits.Texture = texture.ByItself
		everything.Task = nil
		if music == moreExamples["given-line-changed"] {
			everything.Task = theorytest.Chords("C5 | C5 | B4 | C5")
		}
		if piano {
			everything.Limits.Texture = texture.Piano
		}
		music, symbol := strings.CutPrefix(music, "symbol ")
		score := theorytest.ChordsOf(unit, music)
		if again {
			score.Score.Jumps = []theory.Jump{{From: 0, To: 0}}
		}
		analysis := harmony.Analyze(score)
		if symbol {
			score.Score.Chords = []theory.GivenChord{{Onset: unit, Root: theory.PitchClass{Step: theory.E, Alter: -1}, HasRoot: true, Kind: "minor"}}
			analysis = harmony.GuidedAs(score, harmony.ScoreAnnotations(score), harmony.Steer, harmony.ByTexture)
		}
		findings := partwriting.Check(score, labeled(t, music, score), everything)
		findings = append(findings, partwriting.Check(score, analysis, everything)...)
		for _, f := range findings {
			spoken[f.Rule] = true
			for _, language := range partwriting.Languages() {
				c, _ := partwriting.CatalogFor(language)
				if m := c.Message(&f, score); m == "" || strings.ContainsAny(m, "{}") || strings.Contains(m, "  ") {
					t.Errorf("%s %s: %q", language, f.Rule, m)
				}
			}
		}
	}
	for _, music := range everyExample() {
		listen(music)
	}
	for id, music := range moreExamples {
		if partwriting.RuleByID(id) == nil {
			t.Errorf("an example of %s, which is no rule", id)
		}
		listen(music)
	}
	for _, r := range partwriting.Rules() {
		if !spoken[r.ID] {
			t.Errorf("%s has no example here", r.ID)
		}
	}
}
