package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gin-gonic/gin"

	"partwright/worker"
	"partwright/worker/pool"
)

// CreateContinuation serves POST /v1/continuations.
func (h *handlers) CreateContinuation(c *gin.Context) {
	c.Header("Vary", "Accept")
	if _, ok := negotiate(c.GetHeader("Accept"), []string{typeJSON}); !ok {
		fail(c, refuse(notAcceptable))
		return
	}
	up, err := h.admit(c, pool.TaskContinue, nil)
	if err != nil {
		fail(c, err)
		return
	}
	defer up.release()
	var body ContinuationRequest
	if err := h.readJSON(up.Data, "ContinuationRequest", &body); err != nil {
		fail(c, err)
		return
	}
	report, err := h.pool.Continue(c.Request.Context(), worker.ContinueRequest{
		Chords: body.Chords, From: strings.Join(body.From, " "), Then: body.Then, Style: body.Style, Best: body.Best,
	})
	if err != nil {
		fail(c, err)
		return
	}
	h.writeJSON(c, report)
}

// readJSON reads a body that must be as one schema of the contract has it.
func (h *handlers) readJSON(data []byte, schema string, into any) error {
	decoder := json.NewDecoder(bytes.NewReader(data))
	var value any
	if err := decoder.Decode(&value); err != nil {
		return refuse(invalidRequest, fmt.Sprintf("The body is no JSON: it goes wrong at byte %d.", decoder.InputOffset()))
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return refuse(invalidRequest, fmt.Sprintf("The body goes on after its JSON value, at byte %d.", decoder.InputOffset()))
	}
	if err := h.contract.document.Components.Schemas[schema].Value.VisitJSON(value, openapi3.EnableJSONSchema2020()); err != nil {
		return refuse(invalidRequest, schemaError(err))
	}
	if err := json.Unmarshal(data, into); err != nil {
		return refuse(invalidRequest, "The body is not as the contract describes it.")
	}
	return nil
}

// schemaError says where a value departs from its schema and how.
func schemaError(err error) string {
	var schema *openapi3.SchemaError
	if !errors.As(err, &schema) {
		return "The body is not as the contract describes it."
	}
	return fmt.Sprintf("The body is not as the contract describes it, at /%s: %s.",
		strings.Join(schema.JSONPointer(), "/"), strings.TrimSuffix(schema.Reason, "."))
}
