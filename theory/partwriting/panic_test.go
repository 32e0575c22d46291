package partwriting

import (
	"testing"

	"partwright/theory"
)

func TestPanicNamesItsRule(t *testing.T) {
	defer func() {
		named, ok := recover().(*RulePanic)
		if !ok || named.Rule != "broken" || named.Value != "oops" || len(named.Stack) == 0 {
			t.Errorf("a rule's panic came out as %+v", named)
		}
	}()
	run(&Rule{ID: "broken", Check: func(*Passage) []Finding { panic("oops") }}, &Passage{Texture: &theory.Texture{Score: &theory.Score{}}})
	t.Error("no panic")
}
