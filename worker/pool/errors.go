package pool

import (
	"errors"
	"fmt"
	"time"
)

// Errors of a pool. A [*BusyError] is an ErrBusy.
var (
	// ErrBusy is returned when every slot and every place in the queue is taken.
	ErrBusy = errors.New("all workers are busy and the queue is full")
	// ErrDraining is returned once [Pool.Drain] was called.
	ErrDraining = errors.New("the service is shutting down")
)

// BusyError is [ErrBusy] with the time after which a place is likely.
type BusyError struct {
	// RetryAfter is computed from the queue and the mean time of a score.
	RetryAfter time.Duration
}

// Error says when to come back.
func (e *BusyError) Error() string {
	return fmt.Sprintf("%s; try again in %s", ErrBusy, e.RetryAfter)
}

// Unwrap lets errors.Is find [ErrBusy].
func (e *BusyError) Unwrap() error { return ErrBusy }
