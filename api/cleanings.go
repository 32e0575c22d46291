package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateCleaning serves POST /v1/cleanings.
func (h *handlers) CreateCleaning(c *gin.Context, _ CreateCleaningParams) {
	r := &request.Clean{}
	h.do(c, job{
		name: request.JobClean, request: r,
		offers: func(_ map[string]fieldValue, packed bool) []string { return scoreOffers(packed) },
		plan:   func(*upload, string) (request.Plan, error) { return planned(r.Plan()) },
	})
}
