package api

import (
	"io"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
)

// Bounds on hearing out a request that is turned away: how long it may go on
// sending, how much of it is heard, and how many are heard at once.
const (
	hearOutTime  = 2 * time.Second
	hearOutBytes = 64 << 20
	mostHeardOut = 64
)

// ears are the places for requests that are heard out.
type ears chan struct{}

// hearOut reads what is left of a body that is not wanted now, so that its sender gets to
// reading the answer: a connection that is closed over unread bytes is reset, and the
// answer lost with it (RFC 9112, 9.6). A sender that waits to be asked for the body
// (RFC 9110, 10.1.1) is not asked. One that sends more, or more slowly, than the
// bounds allow may still see a reset.
func (e ears) hearOut(c *gin.Context) {
	r := c.Request
	if r.Header.Get("Expect") != "" || r.Body == nil || r.Body == http.NoBody {
		return
	}
	select {
	case e <- struct{}{}:
	default:
		return
	}
	defer func() { <-e }()
	body := r.Body
	if begun, ok := body.(*patient); ok {
		body = begun.ReadCloser // its deadlines would replace ours
	}
	rest := newPatient(underlying(c.Writer), body, hearOutTime, hearOutTime)
	n, err := io.Copy(io.Discard, io.LimitReader(rest, hearOutBytes))
	if err == nil && n < hearOutBytes {
		rest.done()
	}
}
