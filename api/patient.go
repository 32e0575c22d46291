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

// patient is a request body that waits only so long for the next bytes and for
// all of them.
type patient struct {
	io.ReadCloser
	control *http.ResponseController
	stall   time.Duration
	until   time.Time
	// closing is when the service that drains takes no more of it; nil for never.
	closing *atomic.Pointer[time.Time]
}

func newPatient(w http.ResponseWriter, body io.ReadCloser, stall, total time.Duration) *patient {
	return &patient{ReadCloser: body, control: http.NewResponseController(w), stall: stall, until: time.Now().Add(total)}
}

// Read implements [io.Reader].
func (p *patient) Read(b []byte) (int, error) {
	deadline := earlier(time.Now().Add(p.stall), p.until)
	closing := p.closed()
	if closing != nil {
		deadline = earlier(deadline, *closing)
	}
	// A writer without deadlines, as in tests, is as patient as its client.
	_ = p.control.SetReadDeadline(deadline)
	n, err := p.ReadCloser.Read(b)
	if errors.Is(err, os.ErrDeadlineExceeded) && closing != nil && !time.Now().Before(*closing) {
		err = pool.ErrDraining
	}
	return n, uploadError(err)
}

func (p *patient) closed() *time.Time {
	if p.closing == nil {
		return nil
	}
	return p.closing.Load()
}

// uploadError makes what a connection or a wrong chunk says when it breaks off
// one error.
func uploadError(err error) error {
	var large *http.MaxBytesError
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, os.ErrDeadlineExceeded) || errors.Is(err, pool.ErrDraining) || errors.As(err, &large) {
		return err
	}
	return fmt.Errorf("%w: %w", io.ErrUnexpectedEOF, err)
}

// done lifts the deadline of a body that was read to its end: while the score is
// worked on, the server goes on reading to notice that the client left, and must
// not take a silent client for one that left. A body that was not read to its end
// keeps the deadline, since the server reads a little more of it before it
// answers.
func (p *patient) done() { _ = p.control.SetReadDeadline(time.Time{}) }

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
