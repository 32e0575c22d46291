package main

import (
	"maps"
	"slices"
	"testing"

	"partwright/theory/harmony"
)

// BenchmarkAnalyzeChorales is the whole analysis of one chorale after another.
func BenchmarkAnalyzeChorales(b *testing.B) {
	scores := chorales(b, "chorales-open")
	moments := 0
	names := slices.Sorted(maps.Keys(scores))
	for _, t := range scores {
		moments += len(t.Moments)
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		harmony.Analyze(scores[names[i%len(names)]])
		i++
	}
	b.ReportMetric(float64(moments)/float64(len(scores)), "moments/score")
}
