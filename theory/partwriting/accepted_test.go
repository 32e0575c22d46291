package partwriting_test

import (
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

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
