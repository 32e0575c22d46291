package voicing

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// nth is what sorting would find, also among many that are equal.
func TestNthIsThatOfTheSorted(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 7))
	for range 2000 {
		all := make([]total, 1+random.IntN(60))
		for i := range all {
			all[i] = total(random.IntN(1 + random.IntN(80)))
		}
		sorted, n := slices.Sorted(slices.Values(all)), random.IntN(len(all))
		if got := nth(slices.Clone(all), n); got != sorted[n] {
			t.Fatalf("%v: %d stands at %d, not %d", all, sorted[n], n, got)
		}
	}
}
