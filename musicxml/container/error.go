package container

import (
	"errors"
	"fmt"
)

// ErrLimit is wrapped by an [Error] that reports a container over one of the
// [Limits].
var ErrLimit = errors.New("over a limit")

// Error tells why a container, or one entry of it, is not read.
type Error struct {
	// Entry is the name of the entry at fault, "" for the container itself.
	Entry string
	// Problem is what is said of the entry or the container, a predicate without
	// a full stop: "is encrypted". Advice tells what to do about it.
	Problem, Advice string
	limit           bool
}

// Error returns `the entry "score.xml" is encrypted`.
func (e *Error) Error() string {
	if e.Entry == "" {
		return "the container " + e.Problem
	}
	return fmt.Sprintf("the entry %.80q %s", e.Entry, e.Problem)
}

// Unwrap returns [ErrLimit] for a limit that was passed.
func (e *Error) Unwrap() error {
	if e.limit {
		return ErrLimit
	}
	return nil
}

func limitf(entry, format string, args ...any) *Error {
	return &Error{Entry: entry, Problem: fmt.Sprintf(format, args...), Advice: "send less at once, or raise the limit", limit: true}
}
