package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateRevision serves POST /v1/revisions.
func (h *handlers) CreateRevision(c *gin.Context, _ CreateRevisionParams) {
	r := &request.Revise{}
	h.do(c, job{
		name: request.JobRevise, request: r,
		offers: func(_ map[string]fieldValue, packed bool) []string {
			return append(append([]string{typeJSON}, scoreOffers(packed)...), typeMixed)
		},
		plan: func(up *upload, _ string) (request.Plan, error) {
			var err error
			if up.Labels, err = labelsIn(r.Labels); err != nil {
				return nil, err
			}
			return planned(r.Plan())
		},
	})
}
