package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/pool"
)

// CreateCleaning serves POST /v1/cleanings.
func (h *handlers) CreateCleaning(c *gin.Context, _ CreateCleaningParams) {
	c.Header("Vary", "Accept")
	if _, ok := negotiate(c.GetHeader("Accept"), scoreOffers(false)); !ok {
		fail(c, refuse(notAcceptable))
		return
	}
	up, err := h.admit(c, pool.TaskClean, nil)
	if err != nil {
		fail(c, err)
		return
	}
	defer up.release()
	clean, err := h.pool.Clean(c.Request.Context(), up.Input)
	if err != nil {
		fail(c, err)
		return
	}
	mediaType, _ := negotiate(c.GetHeader("Accept"), scoreOffers(isContainer(clean)))
	h.writeScore(c, up, clean, mediaType, ".clean")
}
