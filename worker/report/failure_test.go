package report

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/voicing"
	"partwright/worker/stage"
)

func TestFailureSaysWhatWhereAndWhatToDo(t *testing.T) {
	for _, c := range []struct {
		err        error
		code, line string
	}{
		{
			fmt.Errorf("reading: %w", &musicxml.InputError{Code: "not-well-formed", File: "a.xml", Part: "P1", Measure: "3", Line: 7, Problem: "It is cut short.", Advice: "Export it again."}),
			"not-well-formed", "a.xml, part P1, measure 3, line 7: It is cut short. Export it again.",
		},
		{stage.ErrDeadline, "timeout", "a.xml: The score took longer than the time it was given. Allow more time, or split the score."},
		{&voicing.ProgressionError{Line: 2, Problem: `"bla" is no chord`}, "unreadable-progression", `a.xml, line 2: "bla" is no chord.`},
		{fmt.Errorf("voicing: %w", &voicing.ImpossibleError{Slot: 3}), "no-voicing", "a.xml: no arrangement of chord 4 can be reached from chord 3"},
		{&stage.RequestError{Problem: "there is no dominant at the end; choose another ending"}, "unusable-option", "a.xml: there is no dominant at the end; choose another ending."},
		{context.Canceled, "canceled", "a.xml: The run was stopped. Start it again."},
		{&stage.PanicError{Stage: stage.Check, Rule: "spacing", Value: "C4 of a pupil"}, "fault", `rule "spacing"`},
	} {
		f := NewFailure("a.xml", c.err)
		if f.Code != c.code || !strings.Contains(f.Error(), c.line) {
			t.Errorf("%v became %q, %q; want %q, %q", c.err, f.Code, f.Error(), c.code, c.line)
		}
		if strings.Contains(f.Error(), "pupil") {
			t.Errorf("what a panic held is shown: %s", f.Error())
		}
	}
}
