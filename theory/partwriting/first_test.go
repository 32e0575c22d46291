package partwriting_test

import (
	"fmt"
	"testing"

	"partwright/theory/partwriting"
)

// What weighs most comes first, with all that follows from it; remarks and what is let
// stand wait.
func TestWhatToMendFirst(t *testing.T) {
	findings := []partwriting.Finding{
		{Rule: "unison", Severity: partwriting.Remark},
		{Rule: "spacing", Severity: partwriting.Fault},
		{Rule: "diminished-interval", Severity: partwriting.Caution},
		{Rule: "leading-tone-unresolved", Severity: partwriting.Fault, Follows: 3},
		{Rule: "voice-overlap", Severity: partwriting.Caution},
		{Rule: "range", Severity: partwriting.Fault, Licence: partwriting.AcceptedHere},
	}
	for _, test := range []struct {
		most int
		want string
	}{{3, "[2 1 4]"}, {1, "[2]"}, {9, "[2 1 4]"}} {
		if got := fmt.Sprint(partwriting.First(findings, test.most)); got != test.want {
			t.Errorf("first %d: %s, want %s", test.most, got, test.want)
		}
	}
	if got := partwriting.First(findings[:1], 3); len(got) != 0 {
		t.Errorf("a remark comes first: %v", got)
	}
}
