package stage

import (
	"context"
	"sync"
	"time"
)

type clockKey struct{}

// Clock counts the time that work on a job takes, of the time that it may take. It stands
// still until [Run], and whenever that is stopped: what a job waits for, such as a process
// that begins, is none of its time.
type Clock struct {
	most time.Duration

	mu     sync.Mutex
	ran    time.Duration // until it stood still last
	since  time.Time     // when it began to run, zero while it stands still
	alarms []*alarm
}

// alarm is what is done once the clock has run so long.
type alarm struct {
	after time.Duration
	f     func()
	timer *time.Timer // nil while the clock stands still
}

// WithClock is a context for a job that may be worked on for so long.
func WithClock(ctx context.Context, most time.Duration) (context.Context, *Clock) {
	c := &Clock{most: most}
	return context.WithValue(ctx, clockKey{}, c), c
}

// At calls f in a goroutine of its own once the clock has run so long. It is said before
// the clock runs.
func (c *Clock) At(ran time.Duration, f func()) {
	c.alarms = append(c.alarms, &alarm{after: ran, f: f})
}

// End lets nothing more be called by the clock: the job is done.
func (c *Clock) End() {
	c.stop()
	c.mu.Lock()
	defer c.mu.Unlock()
	c.alarms = nil
}

// Run lets the clock of a job run until stop is called. The context that it returns ends
// with [ErrDeadline] as its cause where the time is over. Without a clock it is ctx.
func Run(ctx context.Context) (running context.Context, stop func()) {
	c, _ := ctx.Value(clockKey{}).(*Clock)
	if c == nil {
		return ctx, func() {}
	}
	running, cancel := context.WithTimeoutCause(ctx, c.start(), ErrDeadline)
	return running, func() {
		c.stop()
		cancel()
	}
}

// Left is how long a job may still be worked on; false where it may for any time.
func Left(ctx context.Context) (time.Duration, bool) {
	deadline, bounded := ctx.Deadline()
	left := time.Until(deadline)
	c, _ := ctx.Value(clockKey{}).(*Clock)
	if c == nil {
		return left, bounded
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	own := c.most - c.ran
	if !c.since.IsZero() {
		own -= time.Since(c.since)
	}
	if !bounded || own < left {
		left = own
	}
	return left, true
}

// start lets the clock run and returns how long it may.
func (c *Clock) start() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.since = time.Now()
	for _, a := range c.alarms {
		a.timer = time.AfterFunc(a.after-c.ran, a.f)
	}
	return c.most - c.ran
}

// stop lets the clock stand still.
func (c *Clock) stop() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.since.IsZero() {
		return
	}
	c.ran += time.Since(c.since)
	c.since = time.Time{}
	var left []*alarm
	for _, a := range c.alarms {
		if a.timer.Stop() {
			left = append(left, a)
		}
	}
	c.alarms = left
}
