package partwriting_test

import (
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// labeled reads the numerals of an example as an analysis: "C: I C3 … | - …".
// It returns nil where the example names no key.
func labeled(t *testing.T, music string, texture *theory.Texture) *harmony.Analysis {
	t.Helper()
	var labels []harmony.Label
	var key *theory.Key
	moment := 0
	for _, chord := range strings.FieldsFunc(music, func(r rune) bool { return r == '|' || r == '\n' }) {
		for _, part := range strings.Split(" "+chord, " / ") {
			words := strings.Fields(part)
			if len(words) > 0 && strings.HasSuffix(words[0], ":") {
				k, err := theory.ParseKey(strings.TrimSuffix(words[0], ":"))
				if err != nil {
					t.Fatal(err)
				}
				key, words = &k, words[1:]
			}
			if key == nil || len(words) == 0 || words[0] == "." {
				continue // before any key, or everything is held
			}
			if words[0] != "-" {
				numeral, err := harmony.ParseNumeral(words[0], key.Mode)
				if err != nil {
					t.Fatalf("%s: %v", music, err)
				}
				labels = append(labels, harmony.Label{Onset: texture.Moments[moment].Onset, Reading: harmony.Reading{Key: *key, Numeral: numeral}})
			}
			moment++
		}
	}
	if key == nil {
		return nil
	}
	if moment != len(texture.Moments) {
		t.Fatalf("%s: %d labels for %d sonorities", music, moment, len(texture.Moments))
	}
	return harmony.Assume(texture, labels)
}

// A note that began before anybody named a chord has no chord where it was
// struck; the rules still judge where it goes.
func TestLeadingToneStruckBeforeTheFirstLabel(t *testing.T) {
	texture := theorytest.Chords("B2 G3 D4 G4 | . G3 D4 F4 | E2 G3 C4 E4")
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	labels := []harmony.Label{
		{Onset: theory.Whole(1), Reading: harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 5, Quality: harmony.DominantSeventh, Inversion: 1}}},
		{Onset: theory.Whole(2), Reading: harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: 1}}},
	}
	for _, f := range partwriting.Check(texture, harmony.Assume(texture, labels), nil) {
		if f.Rule == "leading-tone-unresolved" && f.Severity == partwriting.Fault {
			return
		}
	}
	t.Error("the bass leaves the leading tone by leap, and no rule says so")
}
