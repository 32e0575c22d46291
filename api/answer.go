package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/answer"
)

// chunk is what a client must take within the stall timeout.
const chunk = 256 << 10

// write sends a whole answer, waiting only so long for a slow client. The headers
// other than Content-Length are set already.
func (h *handlers) write(c *gin.Context, status int, parts ...[]byte) {
	total := 0
	for _, part := range parts {
		total += len(part)
	}
	c.Writer.Header().Set("Content-Length", strconv.Itoa(total))
	c.Status(status)
	control := http.NewResponseController(c.Writer)
	until := time.Now().Add(h.config.AnswerTimeout)
	for _, part := range parts {
		for len(part) > 0 {
			n := min(len(part), chunk)
			// A writer without deadlines, as in tests, waits as long as its client takes.
			_ = control.SetWriteDeadline(earlier(time.Now().Add(h.config.StallTimeout), until))
			if _, err := c.Writer.Write(part[:n]); err != nil {
				return
			}
			part = part[n:]
		}
	}
	c.Writer.WriteHeaderNow()
}

// writeJSON answers 200 with a value.
func (h *handlers) writeJSON(c *gin.Context, value any) {
	body, err := encodeJSON(value)
	if err != nil {
		fail(c, err)
		return
	}
	c.Writer.Header().Set("Content-Type", typeJSON)
	h.write(c, http.StatusOK, body)
}

func encodeJSON(value any) ([]byte, error) {
	if w, ok := value.(*answer.Written); ok {
		return append(w.Text, '\n'), nil
	}
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		return nil, fmt.Errorf("encoding an answer: %w", err)
	}
	return b.Bytes(), nil
}

// fail leaves an error to the middleware that renders problems.
func fail(c *gin.Context, err error) {
	_ = c.Error(err)
	c.Abort()
}
