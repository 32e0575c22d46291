package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"partwright/worker/request"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gin-gonic/gin"
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
