package api

import (
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
)

// maxCatalogue is how long a catalogue may be, in bytes.
const maxCatalogue = 8 << 20

// SetCatalogue serves PUT /v1/batches/{batch}/catalogue.
func (h *handlers) SetCatalogue(c *gin.Context, id BatchPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		// Before the body is read: it may be for nothing.
		if _, err := s.Status(ctx, organization, id); err != nil {
			return err
		}
		if _, ok := negotiate(c.GetHeader("Accept"), []string{typeJSON}); !ok {
			return refuse(notAcceptable)
		}
		w := underlying(c.Writer)
		if c.Request.ContentLength > maxCatalogue {
			return &http.MaxBytesError{Limit: maxCatalogue}
		}
		c.Request.Body = http.MaxBytesReader(w, c.Request.Body, maxCatalogue)
		up, err := h.receive(w, c.Request, h.bodyTypes(c), nil)
		if err != nil {
			return err
		}
		defer up.release()
		kept, err := s.SetCatalogue(ctx, organization, id, up.Data)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, kept)
	})
}
