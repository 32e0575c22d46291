package partwriting

import "testing"

// A chain of causes has a beginning, and every link in it is between rules that
// there are.
func TestCausesLeadNowhereBack(t *testing.T) {
	var from func(rule RuleID, seen map[RuleID]bool)
	from = func(rule RuleID, seen map[RuleID]bool) {
		if RuleByID(rule) == nil {
			t.Errorf("%s is no rule", rule)
		}
		for effect := range causes[rule] {
			if seen[effect] {
				t.Errorf("%s leads back to %s", rule, effect)
				continue
			}
			seen[effect] = true
			from(effect, seen)
			delete(seen, effect)
		}
	}
	for rule := range causes {
		from(rule, map[RuleID]bool{rule: true})
	}
}
