package api

import (
	"io"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
)

// Bounds on draining the body of a request that is refused: how long, how many bytes,
// and how many bodies at once.
const (
	drainTime  = 2 * time.Second
	drainBytes = 64 << 20
	maxDrains  = 64
)

// drainer drains the bodies of refused requests; it holds one value for each that is
// being drained.
type drainer chan struct{}

// drain reads and discards the rest of a body, so that the client reads the answer: a
// connection that is closed over unread bytes is reset, and the answer is lost with it
// (RFC 9112, 9.6). The body of a client that waits for 100 Continue (RFC 9110, 10.1.1) is
// not read. A client that sends more, or more slowly, than the bounds allow may still
// see a reset.
func (d drainer) drain(c *gin.Context) {
	r := c.Request
	if r.Header.Get("Expect") != "" || r.Body == nil || r.Body == http.NoBody {
		return
	}
	select {
	case d <- struct{}{}:
	default:
		return
	}
	defer func() { <-d }()
	body := r.Body
	if limited, ok := body.(*deadlineBody); ok {
		body = limited.ReadCloser // its deadlines would replace ours
	}
	rest := newDeadlineBody(underlying(c.Writer), body, drainTime, drainTime)
	n, err := io.Copy(io.Discard, io.LimitReader(rest, drainBytes))
	if err == nil && n < drainBytes {
		rest.done()
	}
}
