package partwriting_test

import (
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// From one phrase to the next two voices are asked about consecutives alone, which are
// remarks there whatever the set makes of them within a phrase, and silent where it is: the
// guide of a course lets voices leap and overlap after a breath.
func TestBetweenPhrasesConsecutivesAreRemarks(t *testing.T) {
	consecutives := []partwriting.RuleID{"parallel-fifths", "parallel-octaves", "parallel-unisons", "contrary-fifths", "contrary-octaves"}
	free := &partwriting.RuleSet{Name: "own", Severities: map[partwriting.RuleID]partwriting.Severity{"parallel-fifths": partwriting.Off}}
	for _, set := range []*partwriting.RuleSet{partwriting.RuleSetByName(partwriting.DefaultRuleSet), partwriting.RuleSetByName("keyboard"), free} {
		law := partwriting.NewLaw(set)
		told := 0
		for before := range partwriting.Distances {
			for after := range partwriting.Distances {
				for _, motion := range []theory.Motion{theory.Contrary, theory.Similar, theory.Parallel} {
					m := partwriting.PairMove{Before: before, After: after, Motion: motion, UpperLeaps: true, LowerLeaps: true, Outer: true, Bass: true, Overlaps: true}
					var within []partwriting.RuleID
					law.Pair(&m, func(rule partwriting.RuleID, _ partwriting.Severity) {
						if slices.Contains(consecutives, rule) {
							within = append(within, rule)
						}
					})
					m.Joins = true
					var between []partwriting.RuleID
					law.Pair(&m, func(rule partwriting.RuleID, severity partwriting.Severity) {
						between = append(between, rule)
						if severity != partwriting.Remark {
							t.Errorf("%s: %s weighs %v between phrases", set.Name, rule, severity)
						}
					})
					if told += len(between); !slices.Equal(between, within) {
						t.Errorf("%s: %v then %v, %v: %v between phrases, of consecutives %v within", set.Name, before, after, motion, between, within)
					}
				}
			}
		}
		if told == 0 {
			t.Errorf("%s tells nothing", set.Name)
		}
	}
}
