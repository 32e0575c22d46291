package theory_test

import (
	"testing"

	"partwright/theory"
)

// A score with as many endings as measures, or repeats in repeats, takes no longer than
// its size and the bound on what is heard allow.
func BenchmarkPlaying(b *testing.B) {
	const measures = 100_000
	many := make([]theory.MeasureSigns, measures)
	nested := make([]theory.MeasureSigns, measures)
	for i := range many {
		many[i] = theory.MeasureSigns{EndingStart: true, EndingEnd: true, Endings: []int{1}, Backward: true}
		nested[i] = theory.MeasureSigns{Forward: i < measures/2, Backward: i >= measures/2}
	}
	for name, signs := range map[string][]theory.MeasureSigns{"endings": many, "nested": nested} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				theory.Playing(signs)
			}
		})
	}
}
