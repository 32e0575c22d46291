package wall

import (
	"context"
	"errors"
	"runtime"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// failed is the error of a job on its way between two processes: of its types, the one
// that it has.
type failed struct {
	Input       *musicxml.InputError
	Request     *worker.RequestError
	Progression *voicing.ProgressionError
	Impossible  *voicing.ImpossibleError
	Settings    *settings.Error
	Memory      *theory.MemoryError
	Panic       *panicked
	// Field names the option that the error is about.
	Field              string
	Deadline, Canceled bool
	// Other is the text of any other error.
	Other string
}

type panicked struct {
	Stage stage.Name
	Rule  string
	Value string
	Stack []byte
}

// loggable is the value of a panic in another process, as far as it may be logged.
type loggable string

var _ runtime.Error = loggable("")

// Error is the text.
func (l loggable) Error() string { return string(l) }

// RuntimeError lets [stage.PanicError.Loggable] show it.
func (loggable) RuntimeError() {}

func failure(err error) *failed {
	f := &failed{}
	var panic *stage.PanicError
	var field *request.Error
	if errors.As(err, &field) {
		f.Field = field.Field
	}
	switch {
	case errors.As(err, &f.Input), errors.As(err, &f.Request), errors.As(err, &f.Progression), errors.As(err, &f.Impossible),
		errors.As(err, &f.Settings), errors.As(err, &f.Memory):
	case errors.As(err, &panic):
		f.Panic = &panicked{panic.Stage, panic.Rule, panic.Loggable(), panic.Stack}
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, stage.ErrDeadline):
		f.Deadline = true
	case errors.Is(err, context.Canceled):
		f.Canceled = true
	default:
		f.Other = err.Error()
	}
	return f
}

// err is the error again.
func (f *failed) err() error {
	switch {
	case f.Input != nil:
		return f.Input
	case f.Request != nil:
		return f.Request
	case f.Progression != nil:
		return f.Progression
	case f.Impossible != nil:
		return f.Impossible
	case f.Memory != nil:
		return f.Memory
	case f.Panic != nil:
		return &stage.PanicError{Stage: f.Panic.Stage, Rule: f.Panic.Rule, Value: loggable(f.Panic.Value), Stack: f.Panic.Stack}
	case f.Deadline:
		return stage.ErrDeadline
	case f.Canceled:
		return context.Canceled
	}
	err := errors.New(f.Other)
	if f.Settings != nil {
		err = f.Settings
	}
	if f.Field != "" {
		return &request.Error{Field: f.Field, Err: err}
	}
	return err
}
