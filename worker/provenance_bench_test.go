package worker

import (
	"testing"

	"partwright/theory/partwriting"
)

// What the fingerprints of this program take, once in a process.
func BenchmarkFingerprints(b *testing.B) {
	for b.Loop() {
		if _, err := takePrints(partwriting.Code); err != nil {
			b.Fatal(err)
		}
	}
}
