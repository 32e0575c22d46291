package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/gin-gonic/gin"
)

// Bounds on a body in JSON. A value takes some hundred bytes once it is read, and a
// schema is tried on each.
const (
	maxJSONBytes  = 128 << 10
	maxJSONValues = 5_000
	maxJSONDepth  = 16
)

// receiveJSON reads a body that is no score.
func (h *handlers) receiveJSON(c *gin.Context) (*upload, error) {
	w := underlying(c.Writer)
	if c.Request.ContentLength > maxJSONBytes {
		return nil, &http.MaxBytesError{Limit: maxJSONBytes}
	}
	c.Request.Body = http.MaxBytesReader(w, c.Request.Body, maxJSONBytes)
	return h.receive(w, c.Request, h.bodyTypes(c), nil)
}

// readJSON reads a body that must be as one schema of the contract has it.
func (h *handlers) readJSON(data []byte, schema string, into any) error {
	if at, ok := simpleJSON(data); !ok {
		return refuse(invalidRequest, fmt.Sprintf("The body has more than %d values, or more than %d in one another, at byte %d.", maxJSONValues, maxJSONDepth, at))
	}
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

// simpleJSON reports whether a text has no more values, and none deeper in one another,
// than are read; at is where it goes too far. It need not be JSON.
func simpleJSON(data []byte) (at int, ok bool) {
	values, depth, inText := 0, 0, false
	for i := 0; i < len(data); i++ {
		switch b := data[i]; {
		case inText:
			if b == '\\' {
				i++
			}
			inText = b != '"'
		case b == '"':
			inText = true
		case b == '[' || b == '{':
			values++
			depth++
		case b == ']' || b == '}':
			depth--
		case b == ',' || b == ':':
			values++
		}
		if values > maxJSONValues || depth > maxJSONDepth {
			return i, false
		}
	}
	return 0, true
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
