package partwriting_test

import (
	"regexp"
	"testing"

	"partwright/theory/partwriting"
)

func TestSuiteIsWhole(t *testing.T) {
	kebab := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[partwriting.RuleID]bool{}
	for _, r := range partwriting.Rules() {
		if !kebab.MatchString(string(r.ID)) || seen[r.ID] {
			t.Errorf("rule id %q is not in kebab case or not unique", r.ID)
		}
		seen[r.ID] = true
		if r.Source.Work == "" || r.Check == nil {
			t.Errorf("%s has no source or no check", r.ID)
		}
		if partwriting.RuleByID(r.ID) != r {
			t.Errorf("RuleByID(%q) does not lead back to the rule", r.ID)
		}
	}
	if len(seen) == 0 {
		t.Fatal("the suite is empty")
	}
	if partwriting.RuleByID("no-such-rule") != nil {
		t.Error("a rule that does not exist was found")
	}
}
