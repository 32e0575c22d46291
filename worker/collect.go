package worker

import (
	"runtime"
	"runtime/debug"
	"sync"
)

// While a long score is worked on, garbage is collected once it takes a quarter of what
// is in use: by default it may take as much again, and in a child of a service four
// times as much, which is quicker where little is in use. A long score has hundreds of
// megabytes in a few large tables, with which the collector is soon done.
const (
	longScore   = 8 << 20 // bytes of text
	longPercent = 25
)

// collecting counts the long scores that are worked on; before is what held without.
var collecting struct {
	sync.Mutex
	scores, before int
}

// collectFor sets how often garbage is collected for a score. What it returns sets that
// back once the last of the long scores is done.
func collectFor(in *Input) func() {
	if in.TextSize() < longScore {
		return func() {}
	}
	collecting.Lock()
	defer collecting.Unlock()
	if collecting.scores++; collecting.scores == 1 {
		collecting.before = debug.SetGCPercent(longPercent)
		if collecting.before >= 0 && collecting.before < longPercent {
			debug.SetGCPercent(collecting.before)
		}
	}
	return func() {
		collecting.Lock()
		defer collecting.Unlock()
		if collecting.scores--; collecting.scores == 0 {
			debug.SetGCPercent(collecting.before)
			runtime.GC() // what the score has left counts as in use until then
		}
	}
}
