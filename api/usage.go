package api

import (
	"context"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
)

// GetUsage serves GET /v1/usage.
func (h *handlers) GetUsage(c *gin.Context) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		o, used, err := s.Usage(ctx, organization)
		if err != nil {
			return err
		}
		h.writeJSON(c, Usage{
			Scores:           UsageOfQuota{Used: used.Scores, Quota: o.Scores},
			Bytes:            UsageOfQuota{Used: used.Bytes, Quota: o.Bytes},
			OpenBatches:      UsageOfQuota{Used: used.OpenBatches, Quota: o.OpenBatches},
			RetentionSeconds: int64(o.Retention.Seconds()),
		})
		return nil
	})
}
