package worker

import (
	"runtime/debug"
	"testing"
)

// percent is how much garbage there may be.
func percent() int {
	now := debug.SetGCPercent(100)
	debug.SetGCPercent(now)
	return now
}

// Garbage is collected more often while a long score is worked on, and as before after
// the last one, whatever was set.
func TestLongScoresCollectMore(t *testing.T) {
	short, long := &Input{Data: make([]byte, 1<<20)}, &Input{Data: make([]byte, longScore)}
	packed := &Input{Data: append([]byte("PK\x03\x04"), make([]byte, 1<<20)...)}
	for _, set := range []int{400, 100, 20} {
		defer debug.SetGCPercent(debug.SetGCPercent(set))
		within := min(set, longPercent)
		expect := func(when string, want int) {
			t.Helper()
			if got := percent(); got != want {
				t.Errorf("of %d, %s: %d percent, want %d", set, when, got, want)
			}
		}
		done := collectFor(short)
		expect("a short score", set)
		done()
		first, second := collectFor(long), collectFor(packed)
		expect("two long scores", within)
		first()
		expect("one long score", within)
		second()
		expect("none", set)
	}
}
