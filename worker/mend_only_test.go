package worker

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"partwright/theory/partwriting"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Where one finding alone is chosen, it goes and nothing comes: the written result has
// no fault and no consecutives that the score did not have, as a fresh reading of both
// sees it.
func TestMendingOneRuleAddsNothingElsewhere(t *testing.T) {
	random := rand.New(rand.NewPCG(211, 17))
	for _, style := range []string{"chorale", "keyboard", "three-voices"} {
		set := partwriting.RuleSetByName(map[string]string{"keyboard": "keyboard"}[style])
		chosen, gone := 0, 0
		for i := range *mendedExercises / 2 {
			name, data := fmt.Sprintf("%s-%d.musicxml", style, i), spoiled(t, random, style)
			before := checkAfresh(t, name, data, set)
			rules := map[string]bool{}
			for f := range before.faults {
				rule, _, _ := strings.Cut(f, " ")
				rules[rule] = true
			}
			for rule := range rules {
				pairs := []string{"only", rule}
				if set != nil {
					pairs = append(pairs, "rule_set", set.Name)
				}
				result, said := done[*report.Mending](t, Input{Name: name, Data: data}, &request.Mend{}, pairs...)
				after := checkAfresh(t, name, scoreOf(result, answer.Mended), set)
				chosen += said.Before
				gone += said.Before - said.After
				for f := range after.faults {
					if !before.faults[f] {
						t.Errorf("%s, %s: %s is new", name, rule, f)
					}
				}
				for c := range after.consecutives {
					if !before.consecutives[c] {
						t.Errorf("%s, %s: consecutives %s are new", name, rule, c)
					}
				}
				for w := range after.misread {
					if !before.misread[w] {
						t.Errorf("%s, %s: %s reads otherwise than it sounds", name, rule, w)
					}
				}
			}
		}
		t.Logf("%s: %d of %d chosen findings gone", style, gone, chosen)
		if chosen == 0 || gone*10 < chosen*7 {
			t.Errorf("%s: %d of %d chosen findings gone", style, gone, chosen)
		}
	}
}
