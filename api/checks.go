package api

import (
	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateCheck serves POST /v1/checks.
func (h *handlers) CreateCheck(c *gin.Context, _ CreateCheckParams) {
	r := &request.Check{}
	h.do(c, job{
		name: request.JobCheck, request: r,
		offers: func(fields map[string]fieldValue, packed bool) []string {
			marks := c.Query("marks")
			if field, ok := fields["marks"]; ok {
				marks = field.text
			}
			return checkOffers(marks, packed)
		},
		plan: func(up *upload, accepted string) (request.Plan, error) {
			// What the answer does not hold need not be made.
			if r.Marks = accepted != typeJSON; !r.Marks {
				r.Annotate, r.Upgrade, r.Voices = nil, false, false
			}
			var err error
			if up.Labels, err = labelsIn(r.Labels); err != nil {
				return nil, err
			}
			return planned(r.Plan())
		},
	})
}

// checkOffers are the media types of an answer to a check: with marks, without, or,
// where nobody says, as Accept has it.
func checkOffers(marks string, packed bool) []string {
	switch marks {
	case "true":
		// With both in one answer first, since nothing is left out then.
		return append([]string{typeMixed}, scoreOffers(packed)...)
	case "false":
		return []string{typeJSON}
	}
	return append(append([]string{typeJSON}, scoreOffers(packed)...), typeMixed)
}
