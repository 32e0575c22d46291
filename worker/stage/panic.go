package stage

import (
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// ErrPanicked marks a score on which our own code panicked. The error that
// carries it is a [*PanicError].
var ErrPanicked = errors.New("the job panicked")

// PanicError says where a job panicked. Its text is fit to show: the value and
// the stack, which may hold parts of a score, are for the log only.
type PanicError struct {
	// Stage is the step that ran, Rule the rule, as far as known.
	Stage Name
	Rule  string
	// Value is what was passed to panic, Stack the goroutine's trace.
	Value any
	Stack []byte
}

// Error names the stage and the rule and nothing of the score.
func (e *PanicError) Error() string {
	text := ErrPanicked.Error()
	if e.Stage != "" {
		text += fmt.Sprintf(" while it ran the stage %q", string(e.Stage))
	}
	if e.Rule != "" {
		text += fmt.Sprintf(", rule %q", e.Rule)
	}
	return text
}

// Unwrap lets errors.Is find [ErrPanicked].
func (e *PanicError) Unwrap() error { return ErrPanicked }

// Loggable is the text of a runtime error, which holds numbers and types only;
// of anything else, which may hold parts of a score, the type.
func (e *PanicError) Loggable() string {
	if err, ok := e.Value.(runtime.Error); ok {
		return err.Error()
	}
	return fmt.Sprintf("%T", e.Value)
}

// Guard runs f and turns a panic into a [*PanicError] that names the stage and,
// where one was to blame, the rule. A job that its budget stopped has the error of
// [theory.Stopped].
func Guard(stage Name, f func() error) (err error) {
	defer func() {
		switch value := recover().(type) {
		case nil:
		case *theory.Stopped:
			err = value.Err
		case *partwriting.RulePanic:
			err = &PanicError{Stage: stage, Rule: string(value.Rule), Value: value.Value, Stack: value.Stack}
		default:
			err = &PanicError{Stage: stage, Value: value, Stack: debug.Stack()}
		}
	}()
	return f()
}
