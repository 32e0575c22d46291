package markup

import (
	"errors"
	"fmt"
)

// ErrLimit is wrapped by an [Error] that reports a document over one of the
// [Limits]: it may be well-formed, but it is not read.
var ErrLimit = errors.New("over a limit")

// Error is a fault in the text of a document and where it stands.
type Error struct {
	Position
	// Problem is a clause without a full stop, such as "unclosed <note>".
	Problem string
	limit   bool
}

// Error returns "line 3, column 7: unclosed <note>".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Problem
	}
	return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Problem)
}

// Unwrap returns [ErrLimit] for a limit that was passed.
func (e *Error) Unwrap() error {
	if e.limit {
		return ErrLimit
	}
	return nil
}

// fault is an Error before its place is looked up.
type fault struct {
	at      int
	problem string
	limit   bool
}

func (f *fault) in(t *Tree) *Error {
	return &Error{Position: t.PositionOf(int32(f.at)), Problem: f.problem, limit: f.limit}
}

func faultf(at int, format string, args ...any) *fault {
	return &fault{at: at, problem: fmt.Sprintf(format, args...)}
}

func limitf(at int, format string, args ...any) *fault {
	f := faultf(at, format, args...)
	f.limit = true
	return f
}
