package partwriting_test

import (
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// What is accepted for one score is added to what the set accepts, which stays as
// it is.
func TestAcceptingMore(t *testing.T) {
	own := &partwriting.RuleSet{Name: "own", Accepted: map[string][]partwriting.RuleID{"1": {"spacing"}}}
	wider := own.Accepting(map[string][]partwriting.RuleID{"1": {"range"}, "2": {"unison"}})
	if len(wider.Accepted["1"]) != 2 || len(wider.Accepted["2"]) != 1 || wider.Name != "own" || len(own.Accepted["1"]) != 1 {
		t.Errorf("%v from %v", wider.Accepted, own.Accepted)
	}
	if none := (*partwriting.RuleSet)(nil).Accepting(nil); none.Title() != partwriting.DefaultRuleSet {
		t.Errorf("%+v", none)
	}
}

func TestAcceptedFindingIsARemark(t *testing.T) {
	texture := theorytest.Chords("C3 G3 | D3 A3 / C3 G3 | D3 A3")
	set := &partwriting.RuleSet{Accepted: map[string][]partwriting.RuleID{"2": {"parallel-fifths"}}}
	var got []partwriting.Severity
	for _, f := range partwriting.Check(texture, nil, set) {
		if f.Rule == "parallel-fifths" && f.Onset.Num()%2 == 1 {
			got = append(got, f.Severity)
		}
	}
	if len(got) != 2 || got[0] != partwriting.Fault || got[1] != partwriting.Remark {
		t.Errorf("severities %v, want a fault in measure 1 and a remark in measure 2", got)
	}
}
