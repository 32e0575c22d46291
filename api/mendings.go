package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateMending serves POST /v1/mendings.
func (h *handlers) CreateMending(c *gin.Context, _ CreateMendingParams) {
	r := &request.Mend{}
	h.do(c, job{
		name: request.JobMend, request: r,
		offers: func(_ map[string]fieldValue, packed bool) []string { return musicOffers(packed) },
		plan: func(up *upload, _ string) (request.Plan, error) {
			var err error
			if up.Labels, err = labelsIn(r.Labels); err != nil {
				return nil, err
			}
			return planned(r.Plan())
		},
	})
}

// musicOffers are the media types of a report with a score that can be listened to.
func musicOffers(packed bool) []string {
	offers := append([]string{typeJSON}, scoreOffers(packed)...)
	return append(offers, typeMIDI, typeMixed)
}
