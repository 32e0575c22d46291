package api

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"sync/atomic"
	"time"

	"partwright/worker/pool"
)

// deadlineBody is a request body with two deadlines: one for the next bytes, one for
// the whole body.
type deadlineBody struct {
	io.ReadCloser
	control *http.ResponseController
	stall   time.Duration
	until   time.Time
	// closing is the time at which a service that shuts down stops reading; nil for never.
	closing *atomic.Pointer[time.Time]
}

func newDeadlineBody(w http.ResponseWriter, body io.ReadCloser, stall, total time.Duration) *deadlineBody {
	return &deadlineBody{ReadCloser: body, control: http.NewResponseController(w), stall: stall, until: time.Now().Add(total)}
}

// Read implements [io.Reader].
func (b *deadlineBody) Read(data []byte) (int, error) {
	deadline := earlier(time.Now().Add(b.stall), b.until)
	closing := b.closingTime()
	if closing != nil {
		deadline = earlier(deadline, *closing)
	}
	// A writer without deadlines, as in tests, waits as long as its client takes.
	_ = b.control.SetReadDeadline(deadline)
	n, err := b.ReadCloser.Read(data)
	if errors.Is(err, os.ErrDeadlineExceeded) && closing != nil && !time.Now().Before(*closing) {
		err = pool.ErrDraining
	}
	return n, uploadError(err)
}

func (b *deadlineBody) closingTime() *time.Time {
	if b.closing == nil {
		return nil
	}
	return b.closing.Load()
}

// uploadError turns the various errors of a broken connection or a malformed chunk
// into one.
func uploadError(err error) error {
	var large *http.MaxBytesError
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, os.ErrDeadlineExceeded) || errors.Is(err, pool.ErrDraining) || errors.As(err, &large) {
		return err
	}
	return fmt.Errorf("%w: %w", io.ErrUnexpectedEOF, err)
}

// done lifts the deadline of a body that was read to its end: while the score is
// worked on, the server goes on reading to notice that the client left, and must
// not mistake a silent client for one that left. A body that was not read to its end
// keeps the deadline, since the server reads a little more of it before it
// answers.
func (b *deadlineBody) done() { _ = b.control.SetReadDeadline(time.Time{}) }

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
