//go:build unix

package worker

import (
	"path/filepath"
	"testing"
	"time"

	"partwright/worker/request"
)

// What it takes to look for ways to mend beside the plain check of the same scores, in
// turn, in processor time: the hand-ins of the demo class, and songs where they are.
func BenchmarkFixes(b *testing.B) {
	for _, set := range []struct{ name, pattern string }{
		{"class", "../testdata/class/*.musicxml"},
		{"songs", "../../shared/data/repertoire/lieder-b*.mxl"},
	} {
		b.Run(set.name, func(b *testing.B) {
			files, err := filepath.Glob(set.pattern)
			if err != nil {
				b.Fatal(err)
			}
			if len(files) == 0 {
				b.Skipf("no scores at %s", set.pattern)
			}
			var scores []benchScore
			for _, file := range files {
				scores = append(scores, readBenchScore(b, file))
			}
			var took [3]time.Duration
			engine := &Engine{Version: "bench"}
			for b.Loop() {
				for _, fixes := range []int{0, 2} {
					wish := &request.Check{}
					request.Defaults(wish)
					wish.Fixes = fixes
					plan, err := wish.Plan()
					if err != nil {
						b.Fatal(err)
					}
					began := processorTime()
					for _, s := range scores {
						if _, err := engine.Do(b.Context(), Input{Name: s.name, Data: s.data}, plan); err != nil {
							b.Fatal(s.name, err)
						}
					}
					took[fixes] += processorTime() - began
				}
			}
			b.ReportMetric(took[0].Seconds()*1000/float64(b.N), "plain-ms")
			b.ReportMetric(took[2].Seconds()/max(took[0].Seconds(), 1e-9), "fixes/plain")
		})
	}
}
