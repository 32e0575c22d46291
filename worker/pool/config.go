package pool

import (
	"fmt"
	"runtime"
	"time"
)

// Config bounds a [Pool]. The zero value works.
type Config struct {
	// Size is how many scores run at once (default GOMAXPROCS).
	Size int
	// Queue is how many scores may wait (default 16 for each slot). A longer
	// queue turns fewer away and lets the last in line wait longer.
	Queue int
	// Wait bounds the time one score may wait; then it is turned away (default
	// 30 s).
	Wait time.Duration
	// Deadline bounds the time one score may run, from when it leaves the queue
	// (default 30 s).
	Deadline time.Duration
	// Heavy is the estimated time from which a score is a heavy one (default 500 ms).
	// HeavySize is how many of those run at once (default half of Size, at least 1), and
	// HeavyQueue how many may wait (default a quarter of Queue, at least 1): no flood of
	// them keeps others waiting.
	Heavy                 time.Duration
	HeavySize, HeavyQueue int
}

func (c Config) withDefaults() Config {
	if c.Size == 0 {
		c.Size = runtime.GOMAXPROCS(0)
	}
	if c.Queue == 0 {
		c.Queue = 16 * c.Size
	}
	if c.Wait == 0 {
		c.Wait = 30 * time.Second
	}
	if c.Deadline == 0 {
		c.Deadline = 30 * time.Second
	}
	if c.Heavy == 0 {
		c.Heavy = 500 * time.Millisecond
	}
	if c.HeavySize == 0 {
		c.HeavySize = max(c.Size/2, 1)
	}
	if c.HeavyQueue == 0 {
		c.HeavyQueue = max(c.Queue/4, 1)
	}
	return c
}

func (c Config) validate() error {
	for _, f := range []struct {
		name  string
		value int64
	}{{"size", int64(c.Size)}, {"queue", int64(c.Queue)}, {"wait", int64(c.Wait)}, {"deadline", int64(c.Deadline)}, {"heavy", int64(c.Heavy)}, {"heavy size", int64(c.HeavySize)}, {"heavy queue", int64(c.HeavyQueue)}} {
		if f.value < 0 {
			return fmt.Errorf("pool %s is %d; it must not be negative", f.name, f.value)
		}
	}
	return nil
}

// DefaultConfig returns the zero configuration with its defaults filled in.
func DefaultConfig() Config { return Config{}.withDefaults() }
