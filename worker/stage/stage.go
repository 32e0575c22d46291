package stage

import "errors"

// Name is one step of the job, for metrics and progress.
type Name string

// Stages in the order they run.
const (
	Read    Name = "read"
	Voices  Name = "voices"
	Harmony Name = "harmony"
	Check   Name = "check"
	Write   Name = "write"
)

// All lists all stages in order.
var All = []Name{Read, Voices, Harmony, Check, Write}

// ErrDeadline is returned when a score took longer than it may.
var ErrDeadline = errors.New("the score took longer than it may")

// RequestError says what is wrong with a request for one score; it is the caller's to mend.
type RequestError struct{ Problem string }

// Error returns the problem.
func (e *RequestError) Error() string { return e.Problem }

// ErrLost is returned for a score whose process ended before it was done, again and
// again.
var ErrLost = errors.New("the process that worked on the score ended before it was done")
