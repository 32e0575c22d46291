package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
	"partwright/worker/store"
)

// download answers with a file that is written as it is made. Once the first bytes
// are out an error can only be shown by breaking off, so that nobody takes a part
// for the whole. The rest of what broke off can be had where the batch is finished: its
// files stay the same then, and have an ETag (RFC 9110, 14).
func (h *handlers) download(c *gin.Context, id, file, mediaType string,
	write func(*batch.Service, context.Context, string, string, io.Writer) error,
) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		status, err := s.Status(ctx, organization, id)
		if err != nil {
			return err
		}
		c.Header("Content-Type", mediaType)
		c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": file}))
		produce := func(w io.Writer) error { return write(s, ctx, organization, id, w) }
		if status.State == store.BatchFinished {
			c.Header("ETag", h.tagOf(status.Batch, c.Request.URL.RequestURI()))
			c.Header("Accept-Ranges", "bytes")
			if isConditional(c.Request) {
				return h.serveConditional(c, produce)
			}
		}
		if c.Request.Method == http.MethodHead {
			return nil // nobody reads what would be made
		}
		err = produce(h.slowly(c))
		if err != nil && c.Writer.Written() {
			h.logger.WarnContext(ctx, "a download broke off", "request_id", requestID(c), "file", file)
			panic(http.ErrAbortHandler)
		}
		c.Writer.WriteHeaderNow()
		return err
	})
}

// tagOf is the ETag of a file over a finished batch: the same as long as nothing happens
// to the batch and the same version makes the file.
func (h *handlers) tagOf(b *store.Batch, address string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\n%s\n%d\n%s", h.config.Version, b.ID, b.Changes(), address))
	return `"` + hex.EncodeToString(sum[:12]) + `"`
}

// compressedTag is what the ETag of an answer ends with that was compressed on the way.
const compressedTag = "-gzip"

// isConditional reports whether a request wants a part, or only what it has not got.
func isConditional(r *http.Request) bool {
	return r.Header.Get("If-Match") != "" || r.Header.Get("If-None-Match") != "" || r.Method == http.MethodGet && hasBytes(r.Header.Get("Range"))
}

// hasBytes reports whether a range is one of bytes: another unit is ignored (RFC 9110,
// 14.2).
func hasBytes(header string) bool { return strings.HasPrefix(header, "bytes=") }

// serveConditional answers a request for a part of a file, or for one that may be had
// already. The file is made whole, in the folder where uploads wait: where a part begins
// is not known before.
func (h *handlers) serveConditional(c *gin.Context, produce func(io.Writer) error) error {
	spool := &download{dir: h.config.SpoolDir, produce: produce}
	defer spool.close()
	r := c.Request.Clone(c.Request.Context())
	r.Header.Set("If-None-Match", strings.ReplaceAll(r.Header.Get("If-None-Match"), compressedTag+`"`, `"`))
	if !hasBytes(r.Header.Get("Range")) {
		r.Header.Del("Range")
	}
	w := &answerOfPart{ResponseWriter: c.Writer, body: h.slowly(c)}
	http.ServeContent(w, r, "", time.Time{}, spool)
	if w.refused != 0 {
		for _, name := range []string{"ETag", "Accept-Ranges", "Content-Disposition", "Content-Length"} {
			c.Writer.Header().Del(name)
		}
	}
	switch {
	case spool.err != nil:
		return spool.err
	case w.refused == http.StatusRequestedRangeNotSatisfiable:
		return refuse(rangeNotSatisfiable)
	case w.refused == http.StatusPreconditionFailed:
		return refuse(preconditionFailed)
	case w.refused != 0:
		return fmt.Errorf("a part of a download was answered %d", w.refused)
	}
	c.Writer.WriteHeaderNow()
	return nil
}

// answerOfPart keeps back what the standard library says of an error: we say it in a
// problem document.
type answerOfPart struct {
	http.ResponseWriter
	body    io.Writer
	refused int
}

// WriteHeader implements [http.ResponseWriter].
func (w *answerOfPart) WriteHeader(status int) {
	if status >= 400 {
		w.refused = status
		return
	}
	w.ResponseWriter.WriteHeader(status)
}

// Write implements [http.ResponseWriter].
func (w *answerOfPart) Write(p []byte) (int, error) {
	if w.refused != 0 {
		return len(p), nil
	}
	return w.body.Write(p)
}

// download is a file that is made when it is first looked at: a condition is often met
// without it.
type download struct {
	dir     string
	produce func(io.Writer) error
	file    *os.File
	err     error
}

func (d *download) made() error {
	if d.file != nil || d.err != nil {
		return d.err
	}
	file, err := os.CreateTemp(d.dir, "download-*")
	if err != nil {
		d.err = fmt.Errorf("keeping a download: %w", err)
		return d.err
	}
	_ = os.Remove(file.Name()) // the open file goes on; elsewhere close removes it
	d.file, d.err = file, d.produce(file)
	return d.err
}

// Seek implements [io.Seeker].
func (d *download) Seek(offset int64, whence int) (int64, error) {
	if err := d.made(); err != nil {
		return 0, err
	}
	return d.file.Seek(offset, whence)
}

// Read implements [io.Reader].
func (d *download) Read(p []byte) (int, error) {
	if err := d.made(); err != nil {
		return 0, err
	}
	return d.file.Read(p)
}

func (d *download) close() {
	if d.file != nil {
		_ = d.file.Close()
		_ = os.Remove(d.file.Name())
	}
}

// slow is a writer that waits only so long for a client to take what it writes.
type slow struct {
	w       io.Writer
	control *http.ResponseController
	stall   time.Duration
}

func (h *handlers) slowly(c *gin.Context) *slow {
	return &slow{c.Writer, http.NewResponseController(c.Writer), h.config.StallTimeout}
}

// Write implements [io.Writer].
func (s *slow) Write(p []byte) (n int, err error) {
	for len(p) > 0 && err == nil {
		// A writer without deadlines, as in tests, waits as long as its client takes.
		_ = s.control.SetWriteDeadline(time.Now().Add(s.stall))
		var wrote int
		wrote, err = s.w.Write(p[:min(len(p), chunk)])
		n += wrote
		p = p[wrote:]
	}
	return n, err
}
