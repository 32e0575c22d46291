package api

import (
	"io"
	"net/http"
	"time"
)

// patient is a request body that waits only so long for the next bytes and for
// all of them.
type patient struct {
	io.ReadCloser
	control *http.ResponseController
	stall   time.Duration
	until   time.Time
}

func newPatient(w http.ResponseWriter, body io.ReadCloser, stall, total time.Duration) *patient {
	return &patient{body, http.NewResponseController(w), stall, time.Now().Add(total)}
}

// Read implements [io.Reader].
func (p *patient) Read(b []byte) (int, error) {
	// A writer without deadlines, as in tests, is as patient as its client.
	_ = p.control.SetReadDeadline(earlier(time.Now().Add(p.stall), p.until))
	return p.ReadCloser.Read(b)
}

// done lifts the deadline: while the score is worked on, the server goes on
// reading to notice that the client left, and must not take a silent client for
// one that left.
func (p *patient) done() { _ = p.control.SetReadDeadline(time.Time{}) }

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
