package voicing

import (
	"strings"
	"testing"
)

// A word that cannot be read is answered with the smallest change that makes it readable;
// what is meant is common practice, no source.
func TestMistypedWordsAreAnsweredWithTheSmallestChange(t *testing.T) {
	for text, want := range map[string]string{
		"C I IV V I":            "if C: is",
		"C major: I V I":        "if C: is",
		"C minor: i V i":        "if c: is",
		"Cm: i V i":             "if c: is",
		"Bbmaj: I V I":          "if Bb: is",
		"C.: I V I":             "if C: is",
		"H: I V I":              "if B: is",
		"C:I V I":               "if C: I is",
		"C: I IV V 1":           "if I is",
		"C: l IV V I":           "if I is",
		"C: I IV Vl I":          "if VI is",
		"C: I IIV V I":          "if IV is",
		"C: I (V) I":            "if V is",
		"C: I (V)*2 I":          "if V*2 is",
		"C: I V7 / ii ii":       "if V7/ii as one word is",
		"C: I-IV-V-I":           "if I IV V I is",
		"C: I→V→I":              "if I V I is",
		"C: I V I ||| I":        "if || is",
		"C: C G7/X C":           "if G7 is",
		"C: C am C":             "if Am is",
		"C: base C3 F3":         "if bass is",
		"C: Bass C3 F3":         "if bass is",
		"C: bass: C3 F3":        "if bass is",
		"C: melody C5 D5":       "if soprano is",
		"C: bass C3 F3:6":       "if F3/6 is",
		"C: bass C3 F3(6)":      "if F3/6 is",
		"C: bass C3 f3/6":       "if F3/6 is",
		"C: bass C3 F/6":        "if F3/6 is",
		"C: bass C3 B":          "if B2 is",
		"C: bass C3 H2/6":       "if B2/6 is",
		"C: soprano C5 B C5":    "if B4 is",
		"C: soprano C5 d5 C5":   "if D5 is",
		"C: soprano C5 Dis5 E5": "if D#5 is",
		"C: unfigured C3 g C3":  "if G2 is",
		"C: I % V I":            "I*2 for a chord of two beats",
		"4/5 C: I V I":          "is no metre",
		"C: bass C3 F3/66":      "6 stands there twice",
		"C: bass C3 F3/4-":      "the figures of F3",
	} {
		if _, err := ReadProgression(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	// Where the error names the change, or nothing is near, nothing is added.
	for _, text := range []string{"C: I V56 I", "C: I xyz I", "C: I - I", "C: C G7/C# C", "C: I V*0 I", "C: I V{D5 I", "I V I"} {
		if _, err := ReadProgression(text); err == nil || strings.Contains(err.Error(), "is meant") {
			t.Errorf("%s: %v", text, err)
		}
	}
}
