package theory

import (
	"context"
	"fmt"
)

// Work is the budget of one job: the context that ends it and the memory it may take.
// Whatever grows with the music asks it as it goes on, so that a job stops within
// milliseconds of its end. Nil is a budget without end. One goroutine uses it at a time.
//
// [Work.Step] and [Work.Hold] stop a job by a panic with a [*Stopped], which
// [Work.Run] turns into an error: loops deep inside a search need no way out of their
// own, and nothing half done goes on.
type Work struct {
	ctx context.Context
	// steps are left until the context is asked again.
	steps int
	// held is how many bytes are kept, most how many may be; 0 is no bound.
	held, most int64
}

// stepsBetween is how many steps are done before the context is asked again. A step is
// a microsecond at most, mostly far less.
const stepsBetween = 1024

type workKey struct{}

// NewWork is a budget that ends with ctx and lets so many bytes be held, 0 for any
// number. The context it returns carries it, see [WorkIn].
func NewWork(ctx context.Context, most int64) (context.Context, *Work) {
	w := &Work{steps: stepsBetween, most: most}
	w.ctx = context.WithValue(ctx, workKey{}, w)
	return w.ctx, w
}

// WorkIn is the budget that a context carries, bound to that context, which may end
// earlier than the one it was made for. Without one it is a budget without a bound of
// memory.
func WorkIn(ctx context.Context) *Work {
	w := &Work{ctx: ctx}
	if outer, ok := ctx.Value(workKey{}).(*Work); ok {
		w.held, w.most = outer.held, outer.most
	}
	return w
}

// Stopped is what a budget at its end panics with. Err is why: the error of the
// context, or a [*MemoryError].
type Stopped struct{ Err error }

// Error is the reason.
func (s *Stopped) Error() string { return s.Err.Error() }

// Unwrap returns the reason.
func (s *Stopped) Unwrap() error { return s.Err }

// MemoryError says that a job would need more memory than it may take.
type MemoryError struct {
	// Most is how many bytes it may take.
	Most int64
}

// Error says how much may be taken.
func (e *MemoryError) Error() string {
	return fmt.Sprintf("the work needs more than the %d MB of memory it may take", e.Most>>20)
}

// Step tells that n steps are done, each a microsecond at most, and asks from time to
// time whether the job is to end.
func (w *Work) Step(n int) {
	if w == nil {
		return
	}
	if w.steps -= n; w.steps <= 0 {
		w.ask()
	}
}

func (w *Work) ask() {
	w.steps = stepsBetween
	if err := w.ctx.Err(); err != nil {
		panic(&Stopped{err})
	}
}

// Hold tells that so many bytes more are kept, about; fewer where bytes is negative.
func (w *Work) Hold(bytes int) {
	if w == nil {
		return
	}
	if w.held += int64(bytes); w.most > 0 && w.held > w.most {
		panic(&Stopped{&MemoryError{w.most}})
	}
}

// Scope begins a part of the work; what it returns ends the part and gives back what
// was held in it.
func (w *Work) Scope() (end func()) {
	if w == nil {
		return func() {}
	}
	held := w.held
	return func() { w.held = held }
}

// Run does something that draws on the budget and returns why it was stopped, if it
// was, else its error. What it held is given back.
func (w *Work) Run(f func() error) (err error) {
	defer Recover(&err)
	defer w.Scope()()
	return f()
}

// Recover makes a panic of [Work.Step] or [Work.Hold] an error. It is deferred; other
// panics go on.
func Recover(err *error) {
	switch value := recover().(type) {
	case nil:
	case *Stopped:
		*err = value.Err
	default:
		panic(value)
	}
}
