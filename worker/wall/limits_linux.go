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

// giveWay lets others go before a process. On Linux that is a thing of each thread, and
// threads to come have it from the one that begins them (setpriority(2)).
func giveWay(pid int) {
	priority, err := syscall.Getpriority(syscall.PRIO_PROCESS, pid)
	if err != nil {
		return
	}
	nice := min(20-priority+patience, 19) // the system call counts from 40 down to 1
	threads, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/[0-9]*", pid))
	for _, t := range threads {
		if id, err := strconv.Atoi(filepath.Base(t)); err == nil {
			_ = syscall.Setpriority(syscall.PRIO_PROCESS, id, nice) // else it goes on as it is
		}
	}
}

// pipeSize is what a pipe may hold: most answers go through at once, and the process that
// waits for one is woken once. It is the most that a user may ask for (pipe(7)).
const pipeSize = 1 << 20

// setPipeSize is F_SETPIPE_SZ of Linux (fcntl(2)).
const setPipeSize = 1031

// widen lets a pipe hold more; where the system refuses it stays as it is.
func widen(pipe *os.File) {
	control, err := pipe.SyscallConn()
	if err != nil {
		return
	}
	_ = control.Control(func(fd uintptr) { _, _, _ = syscall.Syscall(syscall.SYS_FCNTL, fd, setPipeSize, pipeSize) })
}

// waking is a pipe that was handed over, so that who waits for it does not hold a thread:
// a thread for each that waits and each that works has to be woken for each score.
func waking(pipe *os.File) *os.File {
	fd := int(pipe.Fd()) //nolint:gosec // a small number
	if syscall.SetNonblock(fd, true) != nil {
		return pipe
	}
	return os.NewFile(uintptr(fd), pipe.Name())
}
