package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
)

// ListProblems serves GET /v1/problems.
func (h *handlers) ListProblems(c *gin.Context) {
	list := ProblemKindList{}
	for _, k := range kinds {
		list.Problems = append(list.Problems, k.explained())
	}
	h.writeJSON(c, list)
}

// GetProblem serves GET /v1/problems/{code}.
func (h *handlers) GetProblem(c *gin.Context, code string) {
	k, ok := kindByCode(code)
	if !ok {
		fail(c, refuse(notFound, "There is no problem of that name; /v1/problems lists them all."))
		return
	}
	h.writeJSON(c, k.explained())
}

// GetOpenAPIYAML serves GET /v1/openapi.yaml.
func (h *handlers) GetOpenAPIYAML(c *gin.Context) { h.publish(c, "application/yaml", openAPIYAML) }

// GetOpenAPIJSON serves GET /v1/openapi.json.
func (h *handlers) GetOpenAPIJSON(c *gin.Context) { h.publish(c, typeJSON, h.contract.asJSON) }

// GetReportSchema serves GET /v1/schemas/report.json.
func (h *handlers) GetReportSchema(c *gin.Context) {
	h.publish(c, "application/schema+json", h.contract.reportSchema)
}

// publish answers with a text that changes only with the program.
func (h *handlers) publish(c *gin.Context, mediaType string, text []byte) {
	c.Header("Cache-Control", "public, max-age=300")
	c.Header("Content-Type", mediaType)
	h.write(c, http.StatusOK, text)
}
