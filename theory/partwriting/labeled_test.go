package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
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
