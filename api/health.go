package api

import "github.com/gin-gonic/gin"

// GetHealth serves GET /healthz: the process answers.
func (h *handlers) GetHealth(c *gin.Context) { h.writeJSON(c, Health{Status: "alive"}) }

// GetReadiness serves GET /readyz.
func (h *handlers) GetReadiness(c *gin.Context) {
	if err := h.ready(); err != nil {
		fail(c, err)
		return
	}
	h.writeJSON(c, Health{Status: "ready"})
}

// ready says why no work should be sent here, nil if it may.
func (h *handlers) ready() error {
	switch {
	case h.draining.Load():
		return refuse(shuttingDown)
	case h.pool.Stuck():
		return refuse(notReady)
	}
	return nil
}
