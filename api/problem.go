package api

import (
	"errors"
	"maps"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"partwright/worker/pool"
)

// sentence makes a clause of a lower package stand by itself.
func sentence(clause string) string {
	first, size := utf8.DecodeRuneInString(clause)
	return string(unicode.ToUpper(first)) + clause[size:] + "."
}

func newProblem(k *kind, detail string) Problem {
	if detail == "" {
		detail = k.Meaning
	}
	return Problem{
		Type: k.uri(), Title: k.Title, Status: k.Status, Code: k.Code, Detail: detail, Advice: k.Advice,
	}
}

// writeProblem answers with the problem that an error means.
func (h *handlers) writeProblem(c *gin.Context, err error) {
	p := problemOf(err)
	p.Instance = "#" + requestID(c)
	header := c.Writer.Header()
	header.Del("Content-Disposition")
	header.Del("Content-Language")
	var refused *refusal
	if errors.As(err, &refused) {
		maps.Copy(header, refused.header)
	}
	switch p.Status {
	case http.StatusServiceUnavailable:
		header.Set("Retry-After", strconv.Itoa(retryAfter(err)))
	case http.StatusUnsupportedMediaType:
		// RFC 9110, 15.5.16.
		header.Set("Accept", strings.Join(h.bodyTypes(c), ", "))
	}
	header.Set("Content-Type", "application/problem+json")
	body, encodeErr := encodeJSON(p)
	if encodeErr != nil {
		body = nil // a struct of strings and numbers always encodes
	}
	h.write(c, p.Status, body)
}

// retryAfter is in whole seconds, at least one: 0 would invite a storm.
func retryAfter(err error) int {
	var full *pool.BusyError
	if errors.As(err, &full) {
		return int(math.Ceil(max(full.RetryAfter, time.Second).Seconds()))
	}
	return 5
}
