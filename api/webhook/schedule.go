package webhook

import (
	"math/rand/v2"
	"time"
)

// delays are the waits before each attempt: the schedule of Standard Webhooks
// 1.0.0, "Deliverability and reliability".
var delays = []time.Duration{
	0, 5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour,
	10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

// jitter is by how much of it a wait may be longer, so that what failed together
// does not come back together.
const jitter = 0.1

// nextIn is how long to wait for the try of that number, from 0; false if there is
// none. The receiver may ask for more.
func nextIn(try int, atLeast time.Duration) (time.Duration, bool) {
	if try >= len(delays) {
		return 0, false
	}
	wait := max(delays[try], atLeast)
	return wait + time.Duration(rand.Float64()*jitter*float64(wait)), true // #nosec G404 -- spreads retries, guards nothing
}
