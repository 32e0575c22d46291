package account

import (
	"context"
	"time"
)

// flushEvery is how much of the last use of keys a killed process may forget.
const flushEvery = 30 * time.Second

// forgetEvery is how long sessions that have ended stay in the database at most.
const forgetEvery = 10 * time.Minute

// Run does what is due from time to time until ctx is done.
func (k *Keeper) Run(ctx context.Context) {
	tick := time.NewTicker(flushEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
			defer cancel()
			k.logFailure(last, k.Flush(last))
			return
		case <-tick.C:
			k.logFailure(ctx, k.Flush(ctx))
		}
	}
}

// logFailure logs that the use of keys and sessions could not be written down.
func (k *Keeper) logFailure(ctx context.Context, err error) {
	if err != nil && ctx.Err() == nil {
		k.logger.WarnContext(ctx, "the use of keys and sessions could not be written down", "error", err.Error())
	}
}
