package api

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"

	"partwright/worker/store"
)

// GetHealth serves GET /healthz: the process answers.
func (h *handlers) GetHealth(c *gin.Context) { h.writeJSON(c, Health{Status: "alive"}) }

// GetLiveness serves GET /livez: the same.
func (h *handlers) GetLiveness(c *gin.Context) { h.GetHealth(c) }

// GetReadiness serves GET /readyz.
func (h *handlers) GetReadiness(c *gin.Context) {
	if err := h.ready(c.Request.Context()); err != nil {
		fail(c, err)
		return
	}
	h.writeJSON(c, Health{Status: "ready"})
}

// readyTime bounds what a probe may wait for the database.
const readyTime = 2 * time.Second

// watchReadiness registers whether the service is ready, as it is at each scrape.
func (h *handlers) watchReadiness(registry prometheus.Registerer) {
	registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Name: "partwright_ready",
		Help: "1 if this process is ready for work, 0 if not; /readyz says why.",
	}, func() float64 {
		if h.ready(context.Background()) != nil {
			return 0
		}
		return 1
	}))
}

// ready says why no work should be sent here, nil if it may.
func (h *handlers) ready(ctx context.Context) error {
	switch {
	case h.draining.Load():
		return refuse(shuttingDown)
	case h.pool.Stuck():
		return refuse(notReady)
	case h.config.Batches == nil:
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, readyTime)
	defer cancel()
	if err := h.config.Batches.Writable(ctx); err != nil {
		h.logger.WarnContext(ctx, "the database takes no write", "error", err.Error())
		if errors.Is(err, store.ErrFull) {
			return refuse(diskFull)
		}
		return refuse(databaseDown)
	}
	if free, _, known := h.config.Batches.DiskSpace(); known && free < uint64(max(h.config.MinFree, 0)) {
		return refuse(diskFull, fmt.Sprintf("On the disk of the data directory %d bytes are free; the service wants %d.", free, h.config.MinFree))
	}
	return nil
}
