package worker

import (
	"context"
	"testing"
	"time"

	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// Jobs that share what was read of a score read it once, and come to the same as each
// by itself. Only another use of its labels names the harmony anew.
func TestReadingIsShared(t *testing.T) {
	counts := map[stage.Name]int{}
	engine := &Engine{Observe: func(_ context.Context, name stage.Name, _ time.Duration) { counts[name]++ }}
	in := handIn(t)
	in.Read = &Reading{}
	run := func(plan request.Plan, err error) any {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		a, err := engine.Do(t.Context(), in, plan)
		if err != nil {
			t.Fatal(err)
		}
		return a.Report
	}
	check, err := planned(&request.Check{})
	checked := run(check, err).(*report.Report)
	mend, err := planned(&request.Mend{})
	mended := run(mend, err).(*report.Mending)
	if counts[stage.Read] != 1 || counts[stage.Voices] != 1 || counts[stage.Harmony] != 1 {
		t.Errorf("stages %v", counts)
	}
	_, checkedAlone := done[*report.Report](t, handIn(t), &request.Check{})
	_, mendedAlone := done[*report.Mending](t, handIn(t), &request.Mend{})
	if len(checked.Findings) != len(checkedAlone.Findings) || mended.Before != mendedAlone.Before || len(mended.Edits) != len(mendedAlone.Edits) {
		t.Errorf("together %d findings and %d edits, apart %d and %d", len(checked.Findings), len(mended.Edits), len(checkedAlone.Findings), len(mendedAlone.Edits))
	}
	replacing, err := planned(&request.Check{}, "given", "replace")
	run(replacing, err)
	if counts[stage.Read] != 1 || counts[stage.Harmony] != 2 {
		t.Errorf("after another use of labels: stages %v", counts)
	}
}
