package worker

import (
	"fmt"
	"path/filepath"
	"testing"

	"partwright/worker/request"
)

// What it takes to look for ways to mend, beside the plain check of the same scores:
// the hand-ins of the demo class, and songs where they are.
func BenchmarkFixes(b *testing.B) {
	for name, pattern := range map[string]string{"class": "../testdata/class/*.musicxml", "songs": "../../shared/data/repertoire/lieder-b*.mxl"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			b.Fatal(err)
		}
		for _, fixes := range []int{0, 2} {
			b.Run(fmt.Sprintf("%s/fixes=%d", name, fixes), func(b *testing.B) {
				if len(files) == 0 {
					b.Skipf("no scores at %s", pattern)
				}
				wish := &request.Check{}
				request.Defaults(wish)
				wish.Fixes = fixes
				plan, err := wish.Plan()
				if err != nil {
					b.Fatal(err)
				}
				engine := &Engine{Version: "bench"}
				for b.Loop() {
					for _, file := range files {
						s := readBenchScore(b, file)
						if _, err := engine.Do(b.Context(), Input{Name: s.name, Data: s.data}, plan); err != nil {
							b.Fatal(s.name, err)
						}
					}
				}
			})
		}
	}
}
