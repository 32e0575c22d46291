package wall

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// bounded tells that the system holds a process to its limits.
const bounded = true

// limitMemory lets the process take so many bytes of address space more than it has, 0
// for any: a Go program reserves far more than it uses before it begins. Nothing of it
// is dumped where it is killed: a score would stand in that.
func limitMemory(room int64) error {
	if err := syscall.Setrlimit(syscall.RLIMIT_CORE, &syscall.Rlimit{}); err != nil {
		return err
	}
	if room == 0 {
		return nil
	}
	now, err := addressSpace()
	if err != nil {
		return err
	}
	most := now + uint64(room) //nolint:gosec // not negative
	return syscall.Setrlimit(syscall.RLIMIT_AS, &syscall.Rlimit{Cur: most, Max: most})
}

// addressSpace is how many bytes the process has of it.
func addressSpace() (uint64, error) {
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		return 0, err
	}
	var pages uint64
	if _, err := fmt.Fscan(strings.NewReader(string(text)), &pages); err != nil {
		return 0, fmt.Errorf("/proc/self/statm: %w", err)
	}
	return pages * uint64(os.Getpagesize()), nil //nolint:gosec // a size
}

// limitProcessor lets the process work for so long more, on every processor that it has.
func limitProcessor(more time.Duration) {
	var use syscall.Rusage
	var limit syscall.Rlimit
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil || syscall.Getrlimit(rlimitCPU, &limit) != nil {
		return // the parent watches the time as well
	}
	spent := time.Duration(use.Utime.Nano() + use.Stime.Nano())
	until := spent + more*time.Duration(runtime.GOMAXPROCS(0))
	limit.Cur = min(uint64(until/time.Second)+2, limit.Max) //nolint:gosec // not negative
	_ = syscall.Setrlimit(rlimitCPU, &limit)
}

// rlimitCPU is RLIMIT_CPU of Linux on every processor (getrlimit(2)).
const rlimitCPU = 0

// patience is how much a patient process gives way, of 19 (nice(2)).
const patience = 5

// giveWay lets other processes go first. On Linux that is a thing of each thread, and
// threads to come have it from the one that begins them (setpriority(2)).
func giveWay() {
	priority, err := syscall.Getpriority(syscall.PRIO_PROCESS, 0)
	if err != nil {
		return
	}
	nice := min(20-priority+patience, 19) // the system call counts from 40 down to 1
	threads, _ := filepath.Glob("/proc/self/task/[0-9]*")
	for _, t := range threads {
		if id, err := strconv.Atoi(filepath.Base(t)); err == nil {
			_ = syscall.Setpriority(syscall.PRIO_PROCESS, id, nice) // else it goes on as it is
		}
	}
}
