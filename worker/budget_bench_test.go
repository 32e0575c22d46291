//go:build unix

package worker

import (
	"os"
	"syscall"
	"testing"
	"time"

	"partwright/theory"
	"partwright/worker/request"
)

// BenchmarkBudget measures the whole job with a budget and without one, block by block
// in turn, in processor time: with/without is what budgets cost.
func BenchmarkBudget(b *testing.B) {
	data, err := os.ReadFile("../testdata/class/hand-in.musicxml")
	if err != nil {
		b.Fatal(err)
	}
	var r request.Check
	if err := request.Bind(&r, request.Values{"marks": {Text: "true"}, "analysis": {Text: "true"}}); err != nil {
		b.Fatal(err)
	}
	plan, err := r.Plan()
	if err != nil {
		b.Fatal(err)
	}
	in := Input{Name: "hand-in.musicxml", Data: data}
	const block = 25
	var took [2]time.Duration
	for round := 0; b.Loop(); round++ {
		began := processorTime()
		for range block {
			e, ctx := Engine{}, b.Context()
			if round%2 == 1 {
				ctx, e.Limits.Work = theory.NewWork(ctx, 192<<20)
			}
			if _, err := e.do(ctx, in, plan); err != nil {
				b.Fatal(err)
			}
		}
		took[round%2] += processorTime() - began
	}
	b.ReportMetric(took[1].Seconds()/max(took[0].Seconds(), 1e-9), "with/without")
}

func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
