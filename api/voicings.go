package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateVoicing serves POST /v1/voicings.
func (h *handlers) CreateVoicing(c *gin.Context, _ CreateVoicingParams) {
	r := &request.Voice{}
	h.do(c, job{
		name: request.JobVoice, request: r,
		// A sheet is made anew, however the task came.
		offers: func(map[string]fieldValue, bool) []string { return musicOffers(false) },
		plan: func(up *upload, _ string) (request.Plan, error) {
			if up.mediaType == typeText {
				r.Progression, up.Data = string(up.Data), nil
			}
			return planned(r.Plan())
		},
	})
}
