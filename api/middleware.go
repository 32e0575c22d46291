package api

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"regexp"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
)

const requestIDKey = "request-id"

// validRequestID is what a client's request id may be; anything else is replaced.
var validRequestID = regexp.MustCompile(`^[A-Za-z0-9._-]{1,64}$`)

func requestID(c *gin.Context) string { return c.GetString(requestIDKey) }

// statusClientGone is what logs and metrics show of a request whose client left
// before the answer. It is never sent.
const statusClientGone = 499

// counted counts the bytes of a body that were read.
type counted struct {
	io.ReadCloser
	n int64
}

func (b *counted) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.n += int64(n)
	return n, err
}

// observe names the request, and logs and counts it when it is answered. Neither
// log nor metrics see addresses, queries, file names or anything of a score.
func (h *handlers) observe(c *gin.Context) {
	start := time.Now()
	id := c.GetHeader("X-Request-Id")
	if !validRequestID.MatchString(id) {
		id = rand.Text()
	}
	c.Set(requestIDKey, id)
	c.Header("X-Request-Id", id)
	body := &counted{ReadCloser: c.Request.Body}
	// A copy: the server looks at the body of its own request to decide what to
	// do with the bytes that nobody read, and must find there what it put there.
	c.Request = c.Request.WithContext(c.Request.Context())
	c.Request.Body = body

	h.metrics.inFlight.Inc()
	defer func() {
		h.metrics.inFlight.Dec()
		status, took := statusOf(c), time.Since(start)
		out := int64(c.Writer.Size())
		traced := traceOf(c)
		h.metrics.observe(c.Request.Context(), c.Request.Method, c.FullPath(), status, took, body.n, out)
		attributes := []slog.Attr{
			slog.String("request_id", id), slog.String("method", methodLabel(c.Request.Method)),
			slog.String("route", routeLabel(c.FullPath())), slog.Int("status", status),
			slog.Float64("seconds", took.Seconds()), slog.Int64("bytes_in", body.n), slog.Int64("bytes_out", max(out, 0)),
			slog.String("problem", problemCode(c)),
		}
		if caller := callerOf(c); caller.Key != "" || caller.Session != "" {
			attributes = append(attributes, slog.String("organization", caller.Organization), slog.String("key", caller.Key))
		}
		if traced != "" {
			attributes = append(attributes, slog.String("trace_id", traced))
		}
		h.logger.LogAttrs(c.Request.Context(), levelOf(c.FullPath()), "answered", attributes...)
	}()
	c.Next()
}

// levelOf keeps the probes of an orchestrator, several a minute, out of the log.
func levelOf(route string) slog.Level {
	if isProbe(route) {
		return slog.LevelDebug
	}
	return slog.LevelInfo
}

func isProbe(route string) bool {
	return route == "/healthz" || route == "/livez" || route == "/readyz"
}

// statusOf is the status of an answer for log, metrics and traces.
func statusOf(c *gin.Context) int {
	if clientGone(c) {
		return statusClientGone
	}
	return c.Writer.Status()
}

// problemCode is the code of the problem answered, "" for none.
func problemCode(c *gin.Context) string {
	if last := c.Errors.Last(); last != nil {
		return problemOf(last.Err).Code
	}
	return ""
}

// clientGone reports whether nobody waits for the answer any more. The request's
// context alone does not show it: it also ends when an upload stalls.
func clientGone(c *gin.Context) bool {
	last := c.Errors.Last()
	return last != nil && errors.Is(last.Err, context.Canceled) && c.Request.Context().Err() != nil
}

// recoverPanics turns a panic into an answer 500 without details. The stack goes
// to the log; the value, which may hold parts of a score, does not.
func (h *handlers) recoverPanics(c *gin.Context) {
	defer func() {
		value := recover()
		if value == nil {
			return
		}
		if err, ok := value.(error); ok && errors.Is(err, http.ErrAbortHandler) {
			panic(value)
		}
		h.logger.ErrorContext(c.Request.Context(), "a handler panicked", "request_id", requestID(c),
			"panic", fmt.Sprintf("%T", value), "stack", string(debug.Stack()))
		fail(c, errHandlerPanicked)
		h.render(c)
	}()
	c.Next()
}

var errHandlerPanicked = errors.New("a handler panicked")

// renderErrors answers with the problem that a handler left.
func (h *handlers) renderErrors(c *gin.Context) {
	c.Next()
	h.render(c)
}

func (h *handlers) render(c *gin.Context) {
	last := c.Errors.Last()
	if last == nil || c.Writer.Written() {
		return
	}
	if clientGone(c) {
		// Without an answer: an empty one would pass for a success.
		panic(http.ErrAbortHandler)
	}
	switch problemOf(last.Err).Status {
	case http.StatusInternalServerError:
		h.logger.ErrorContext(c.Request.Context(), "a request failed",
			"request_id", requestID(c), "error", innermost(last.Err))
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		h.drainer.drain(c) // else the client may not read when to try again
	}
	h.writeProblem(c, last.Err)
}

// innermost is the type of what an error began with; its text may hold data.
func innermost(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return fmt.Sprintf("%T", err)
		}
		err = inner
	}
}

// prepare sets what every answer carries and makes lists of several headers one.
func prepare(c *gin.Context) {
	header := c.Writer.Header()
	header.Set("X-Content-Type-Options", "nosniff")
	header.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	header.Set("Referrer-Policy", "no-referrer")
	header.Set("Cross-Origin-Resource-Policy", "same-origin")
	header.Set("Cache-Control", "no-store")
	for _, name := range []string{"Accept", "Accept-Language"} {
		if lines := c.Request.Header[name]; len(lines) > 1 {
			c.Request.Header.Set(name, strings.Join(lines, ", "))
		}
	}
	c.Next()
}
