//go:build !linux

package wall

import (
	"os"
	"time"
)

// bounded tells that the system holds a process to its limits.
const bounded = false

// limitMemory and limitProcessor do nothing: the parent watches the time, and budgets
// hold the memory.
func limitMemory(int64) error { return nil }

func limitProcessor(time.Duration) {}

// giveWay does nothing.
func giveWay(int) {}

// widen does nothing.
func widen(*os.File) {}

// waking is the pipe as it is.
func waking(pipe *os.File) *os.File { return pipe }
