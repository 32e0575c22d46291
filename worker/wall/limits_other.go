//go:build !linux

package wall

import "time"

// bounded tells that the system holds a process to its limits.
const bounded = false

// limitMemory and limitProcessor do nothing: the parent watches the time, and budgets
// hold the memory.
func limitMemory(int64) error { return nil }

func limitProcessor(time.Duration) {}

// giveWay does nothing.
func giveWay() {}
