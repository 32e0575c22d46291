package stage

import (
	"errors"
	"testing"

	"partwright/theory/partwriting"
)

func TestPanicNamesTheRule(t *testing.T) {
	err := Guard(Check, func() error {
		panic(&partwriting.RulePanic{Rule: "parallel-fifths", Value: "x", Stack: []byte("where")})
	})
	var panicked *PanicError
	if !errors.As(err, &panicked) || panicked.Rule != "parallel-fifths" || string(panicked.Stack) != "where" {
		t.Errorf("got %v, want the rule and its stack", err)
	}
}
