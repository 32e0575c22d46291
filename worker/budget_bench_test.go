package worker

import (
	"os"
	"testing"

	"partwright/theory"
	"partwright/worker/request"
)

// BenchmarkBudget measures the whole job with a budget and without one, in turn.
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
	for _, name := range []string{"without", "with", "without again", "with again"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				e, ctx := Engine{}, b.Context()
				if name[:4] == "with" && (len(name) == 4 || name[4] == ' ') {
					ctx, e.Limits.Work = theory.NewWork(ctx, 192<<20)
				}
				if _, err := e.do(ctx, in, plan); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
