package api

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/routers"
)

//go:embed openapi.yaml
var openAPIYAML []byte

const (
	openAPIPath      = "/v1/openapi.json"
	reportSchemaPath = "/v1/schemas/report.json"
)

// contract is the OpenAPI document in the forms that the service needs.
type contract struct {
	document *openapi3.T
	// asJSON is the whole document, reportSchema the schema of a report by
	// itself (JSON Schema, draft 2020-12).
	asJSON, reportSchema []byte
	// routes are keyed by method and gin template, such as "GET /v1/rules/:id".
	routes map[string]*routers.Route
	// needs says, by the same keys, who may use a route.
	needs map[string]need
}

// loadContract reads the embedded document; an error is a mistake of ours that
// the tests find.
func loadContract() (*contract, error) {
	loader := openapi3.NewLoader()
	document, err := loader.LoadFromData(openAPIYAML)
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	if err := document.Validate(context.Background()); err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	if err := checkSecurity(document); err != nil {
		return nil, err
	}
	c := &contract{document: document, routes: map[string]*routers.Route{}, needs: map[string]need{}}
	if c.asJSON, err = document.MarshalJSON(); err != nil {
		return nil, err
	}
	if c.reportSchema, err = reportSchema(c.asJSON); err != nil {
		return nil, err
	}
	for path, item := range document.Paths.Map() {
		for method, operation := range item.Operations() {
			key := method + " " + ginTemplate(path)
			c.needs[key] = needOf(document, operation)
			// The library would read the whole body before it asks who comes;
			// that is found out elsewhere.
			checked := *operation
			checked.Security = &openapi3.SecurityRequirements{}
			c.routes[key] = &routers.Route{
				Spec: document, Path: path, PathItem: item, Method: method, Operation: &checked,
			}
		}
	}
	return c, nil
}

// ginTemplate turns "/v1/rules/{id}" into "/v1/rules/:id".
func ginTemplate(path string) string {
	return strings.NewReplacer("{", ":", "}", "").Replace(path)
}

// reportSchema takes the schemas that a report needs out of the document. OpenAPI
// 3.1 schemas are JSON Schema as they stand; only references move, from
// components to $defs, and our notes to the code generator go.
func reportSchema(document []byte) ([]byte, error) {
	var d struct {
		Components struct {
			Schemas map[string]any `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(document, &d); err != nil {
		return nil, err
	}
	defs := map[string]any{}
	var define func(name string)
	var walk func(node any)
	walk = func(node any) {
		switch node := node.(type) {
		case []any:
			for _, child := range node {
				walk(child)
			}
		case map[string]any:
			for key, child := range node {
				if strings.HasPrefix(key, "x-") {
					delete(node, key)
					continue
				}
				if ref, ok := child.(string); ok && key == "$ref" {
					name := strings.TrimPrefix(ref, "#/components/schemas/")
					node[key] = "#/$defs/" + name
					define(name)
					continue
				}
				walk(child)
			}
		}
	}
	define = func(name string) {
		if _, defined := defs[name]; defined {
			return
		}
		defs[name] = d.Components.Schemas[name]
		walk(defs[name])
	}
	define("Report")
	return json.MarshalIndent(map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"$id":     reportSchemaPath,
		"title":   "Partwright report",
		"$ref":    "#/$defs/Report",
		"$defs":   defs,
	}, "", "  ")
}
