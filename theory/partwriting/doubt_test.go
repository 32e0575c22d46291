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

// What only puts a chord off, passes, or was another chord when it came is no fault
// where nobody has named the chords. An eighth to a sonority.
func TestOnlyAsSureAsTheHarmony(t *testing.T) {
	for _, test := range []struct{ rule, music, want, why string }{
		{"retrogression", "C: V G2 G3 D4 B4 | . . . . | IV6 A2 F3 C4 C5 | . . . . | I G2 E3 C4 C5", "", "the bass goes on as to vi (common practice)"},
		{"retrogression", "C: V G2 G3 D4 B4 | . . . . | IV F2 A3 C4 C5 | . . . . | I C3 G3 C4 C5", "SATB 2 caution", "V goes back to IV"},
		{"retrogression", "d: V7 A2 G3 C#4 E4 | . . . . | iv64 D3 G3 Bb3 D4 | . . . . | i D3 F3 A3 D4", "", "sixth and fourth put off the tonic over its own bass"},
		{"leading-tone-doubled", "C: I C3 E4 G4 C5 | . . . . | Gb: V6 F3 Ab3 F4 Db5 | . . . . | I Gb3 Gb3 Db4 Bb4 | . . . .", "", "it has come as a Neapolitan sixth of C, which doubles its bass (Hutchinson, section 29.3)"},
		{"leading-tone-doubled", "Gb: I Gb3 Db4 Gb4 Bb4 | . . . . | V6 F3 Ab3 F4 Db5 | . . . . | I Gb3 Gb3 Db4 Bb4 | . . . .", "AB 2 fault", "within its key it is a leading tone"},
		{"applied-leading-tone-unresolved", "C: V43/vi B2 G#3 E4 D5 | . . . . | vi A2 C4 E4 E5 | . . . .", "T 2 caution", "no licence for the one excuses the other"},
		{"seventh-unresolved", "C: V43/vi B2 G#3 E4 D5 | . . . . | vi A2 C4 E4 E5 | . . . .", "S 2 fault", "both are due"},
		{"six-four-misused", "Db: V7 Ab2 Eb4 Gb4 C5 | . . . . | I64 Ab2 Db4 F4 Db5 | . . . . | viio7/ii A2 Eb4 Gb4 C5 | . . . .", "", "the bass goes on by a chromatic semitone"},
		{"cadential-six-four-unprepared", "Ab: IV Db3 F4 Ab4 Db5 | - . . . Eb5 | Cad64 Eb3 Eb4 Ab4 C5 | . . . . | V7 Eb3 Db4 G4 Bb4", "", "an escape tone between two steps"},
		{"cadential-six-four-unresolved", "e: i E3 G3 B3 E4 | . . . . | Cad64 B3 E4 G4 B4 | . . . . | V7 B3 D#4 A4 B4", "", "the sixth rises to the seventh (Rimsky-Korsakov, Practical Manual of Harmony)"},
		{"cadential-six-four-weak", "C: I C3 G3 E4 C5 | . . . . | I6 E3 G3 C4 C5 | . . . . | IV F3 A3 C4 C5 | . . . . | Cad64 G3 G3 C4 E5 | . . . . | V G3 G3 B3 D5", "SATB 6 caution", "it stays until the dominant comes"},
		{"cadential-six-four-weak", "C: I C3 G3 E4 C5 | . . . . | I6 E3 G3 C4 C5 | . . . . | IV F3 A3 C4 C5 | . . . . | Cad64 G3 G3 C4 E5 | - F3 . . . | V G3 G3 B3 D5", "", "the bass passes through it (common practice)"},
		{"cadential-six-four-unresolved", "d: i D3 A3 F4 A4 | . . . . | Cad64 A2 D4 D4 F4 | . . . . | V A2 A3 D4 E4 | - . . . F4 | - . . C#4 E4", "", "the fourth is struck again over the dominant and resolves there"},
		{"retrogression", "C: V7 G2 B3 F4 D5 | . . . . | ii42 C3 A3 F4 D5 | . . . . | I C3 G3 E4 C5", "", "the notes of the dominant are suspended over the tonic"},
		{"cadence-missing", "C: I C3 G3 E4 C5 | . . . . | V7 G2 B3 F4 D5 | . . . . | ii42 C3 A3 F4 D5 | . . . . | I C3 G3 E4 C5 ||", "", "so they are in a cadence"},
		{"third-missing", "G: I G2 D4 G4 B4 | . . . . | V D3 D4 G4 A4 | - . . A4 . | - . . G4 . | e: viio7 D#3 C4 F#4 A4", "", "the fourth suspends the third, after an ornament and into another chord"},
		{"leading-tone-unresolved", "g: V6 F#3 A3 D4 A4 | . . . . | viø7 E3 G3 D4 Bb4 | . . . . | V7 D3 F#3 D4 C5 | . . . .", "", "the bass passes between two positions of the dominant"},
		{"seventh-unresolved", "c: iiø43 Ab2 C4 D4 F4 | . . . . | d: viio43 G2 C#4 E4 Bb4 | . . . .", "", "it becomes a leading tone, however it is spelled"},
		{"seventh-unresolved", "F: V6 E3 G3 G4 C5 | . . . . | V43/V D3 G3 F4 B4 | . . . . | V7 C3 E3 G4 Bb4 | . . . .", "", "a neighbor note between two chords on one root"},
		{"final-chord", "a: i A3 C4 E4 C5 | . . . . | d: viio43 G3 Bb3 E4 C#5 | . . . . | i6 F3 A3 F4 D5 ||", "SATB 4 remark", "three chords are an example of how they connect"},
	} {
		texture := theorytest.ChordsOf(theory.Frac(1, 2), test.music)
		analysis := labeled(t, test.music, texture)
		for i := range analysis.Harmonies {
			analysis.Harmonies[i].Confidence = 0.85
		}
		var got []string
		for _, f := range partwriting.Check(texture, analysis, nil) {
			if string(f.Rule) == test.rule {
				got = append(got, fmt.Sprintf("%s %v %s", voicesOf(texture, &f), f.Onset.Mul(theory.Whole(2)), f.Severity))
			}
		}
		if strings.Join(got, ", ") != test.want {
			t.Errorf("%s: %s\n got  %v\n want %s\n because: %s", test.rule, test.music, got, test.want, test.why)
		}
	}
}

// Octaves, single notes and bare dyads are no chords, however they are read: no rule
// about chords speaks. Where a third voice joins, they do (common practice, no source).
func TestNoChordWhereNoneIs(t *testing.T) {
	for _, test := range []struct {
		music string
		some  bool
	}{
		{"C5 | B4 | G4 | D5 | B4 | F4 | C5 ||", false},
		{"C3 C5 | B2 B4 | G2 G4 | D3 D4 | B2 B4 | F3 F4 | C3 E4 ||", false},
		{"C3 E4 C5 | B2 D4 B4 | C3 E4 G4 | F3 A3 C4 | G2 B3 G4 | F2 A3 F4 | C3 G3 E4 ||", true},
	} {
		texture := theorytest.Chords(test.music)
		found := false
		for _, f := range partwriting.Check(texture, harmony.Analyze(texture), nil) {
			if f.Family == partwriting.ChordTones || f.Family == partwriting.Tendency {
				found = true
				if !test.some {
					t.Errorf("%s: %s at %v", test.music, f.Rule, f.Onset)
				}
			}
		}
		if found != test.some {
			t.Errorf("%s: rules about chords speak: %v", test.music, found)
		}
	}
}

// Where a second reading is as good, a fault becomes a caution that shows both.
func TestDoubtShowsBothReadings(t *testing.T) {
	catalog, _ := partwriting.CatalogFor("en")
	doubted := 0
	for _, music := range []string{
		"E3 B3 G4 B4 | A3 C#4 E4 C#5 | F#3 A3 D4 D5 | G3 B3 D4 B4 | D3 A3 D4 F#4 ||",
		"G3 G3 E4 B4 | A3 C#4 E4 C#5 | F#3 A3 D4 D5 | G3 B3 D4 B4 | A2 A3 C#4 E4 ||",
		"C3 G3 E4 C5 | A2 C#4 E4 A4 | D3 D4 F4 A4 | B2 D4 G4 G4 | B2 B3 F4 G4 | C3 C4 E4 G4 ||",
	} {
		texture := theorytest.Chords(music)
		for _, f := range partwriting.Check(texture, harmony.Analyze(texture), nil) {
			if f.Doubt == nil {
				continue
			}
			doubted++
			message := catalog.Message(&f, texture)
			if f.Severity == partwriting.Fault || f.Doubt.Read == f.Doubt.Other || !strings.Contains(message, " is possible") {
				t.Errorf("%s, %s: %s", f.Rule, f.Severity, message)
			}
		}
	}
	t.Logf("%d findings in doubt", doubted)
}
