package api

import (
	"encoding/json"

	"github.com/gin-gonic/gin"

	"partwright/worker/request"
)

// CreateContinuation serves POST /v1/continuations.
func (h *handlers) CreateContinuation(c *gin.Context, _ CreateContinuationParams) {
	r := &request.Continue{}
	h.do(c, job{
		name: request.JobContinue, request: r,
		offers: func(map[string]fieldValue, bool) []string {
			return append(append([]string{typeJSON}, scoreOffers(false)...), typeMixed)
		},
		read: func(up *upload) (err error) {
			if err := h.readJSON(up.Data, "ContinuationRequest", new(any)); err != nil {
				return err
			}
			if err := request.Decode(up.Data, r); err != nil {
				return err
			}
			r.Language, err = h.chooseLanguage(c, textOf(up.Data, languageField))
			return err
		},
		plan: func(*upload, string) (request.Plan, error) { return planned(r.Plan()) },
	})
}

// textOf is the text of a field of a JSON object, "" for none.
func textOf(object []byte, field string) string {
	var fields map[string]any
	_ = json.Unmarshal(object, &fields) // it is one: it was held against the contract
	text, _ := fields[field].(string)
	return text
}
