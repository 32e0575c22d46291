package api

import (
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/gin-gonic/gin"
)

var filterOptions = &openapi3filter.Options{
	// Bodies are streams that the upload reads itself, within its limits.
	ExcludeRequestBody: true,
	// Defaults belong to the code that uses them.
	SkipSettingDefaults: true,
}

// validate refuses a request whose parameters are not as the contract has them.
func (h *handlers) validate(c *gin.Context) {
	route, ok := h.contract.routes[c.Request.Method+" "+c.FullPath()]
	if !ok {
		return
	}
	query, err := url.ParseQuery(c.Request.URL.RawQuery)
	if err != nil {
		fail(c, refuse(invalidRequest, "The query cannot be read."))
		return
	}
	if err := onlyKnown(query, route); err != nil {
		fail(c, err)
		return
	}
	params := make(map[string]string, len(c.Params))
	for _, p := range c.Params {
		params[p.Key] = p.Value
	}
	err = openapi3filter.ValidateRequest(c.Request.Context(), &openapi3filter.RequestValidationInput{
		Request: c.Request, PathParams: params, QueryParams: query, Route: route, Options: filterOptions,
	})
	if err != nil {
		fail(c, parameterError(err))
	}
}

// onlyKnown refuses what would otherwise be a silent typing error.
func onlyKnown(query url.Values, route *routers.Route) error {
	for name, values := range query {
		if route.Operation.Parameters.GetByInAndName(openapi3.ParameterInQuery, name) == nil {
			return refuse(invalidRequest, fmt.Sprintf("The query has a parameter %.64q, which is not known here.", name))
		}
		if len(values) > 1 {
			return refuse(invalidRequest, fmt.Sprintf("The query has the parameter %s twice.", name))
		}
	}
	return nil
}

// options are the query of a request with the fields of its form in place of those
// parameters that they name: both say the same things, and the form wins. The
// fields are held to what the contract says of the parameters.
func (h *handlers) options(c *gin.Context, fields map[string]fieldValue) (url.Values, error) {
	route := h.contract.routes[c.Request.Method+" "+c.FullPath()]
	query := c.Request.URL.Query()
	for name, field := range fields {
		if route.Operation.Parameters.GetByInAndName(openapi3.ParameterInQuery, name) != nil {
			query.Set(name, field.text)
		}
	}
	err := openapi3filter.ValidateRequest(c.Request.Context(), &openapi3filter.RequestValidationInput{
		Request: c.Request, QueryParams: query, Route: route, Options: filterOptions,
	})
	if err != nil {
		return nil, parameterError(err)
	}
	return query, nil
}

// queryFields are the fields that a form may have since the query may have them.
func (h *handlers) queryFields(c *gin.Context) fieldSizes {
	sizes := fieldSizes{}
	for _, p := range h.contract.routes[c.Request.Method+" "+c.FullPath()].Operation.Parameters {
		if p.Value.In == openapi3.ParameterInQuery {
			sizes[p.Value.Name] = maxFieldBytes
		}
	}
	return sizes
}

// parameterError says which parameter is wrong and what it should be.
func parameterError(err error) error {
	var request *openapi3filter.RequestError
	if !errors.As(err, &request) || request.Parameter == nil {
		return refuse(invalidRequest)
	}
	p := request.Parameter
	kind, wrong := "parameter", "has a value that it cannot have"
	if p.In == openapi3.ParameterInHeader {
		kind = "header"
	}
	if errors.Is(err, openapi3filter.ErrInvalidRequired) {
		wrong = "is missing"
	}
	if p.Schema != nil && len(p.Schema.Value.Enum) > 0 {
		wrong += ": it is one of " + strings.ReplaceAll(strings.Trim(fmt.Sprint(p.Schema.Value.Enum), "[]"), " ", ", ")
	}
	r := refuse(invalidRequest, fmt.Sprintf("The %s %s %s.", kind, p.Name, wrong))
	if p.Schema != nil && p.Schema.Value != nil && p.Description != "" {
		r.advice = strings.Join(append(strings.Fields(p.Description), takes(p.Schema.Value)...), " ")
	}
	return r
}

// takes says which values a schema allows, where few words do.
func takes(s *openapi3.Schema) []string {
	switch {
	case s.Type.Is(openapi3.TypeBoolean):
		return []string{"It is true or false."}
	case s.Type.Is(openapi3.TypeInteger) && s.Min != nil && s.Max != nil:
		return []string{fmt.Sprintf("It is a whole number from %.0f to %.0f.", *s.Min, *s.Max)}
	case s.Type.Is(openapi3.TypeInteger) && s.Min != nil:
		return []string{fmt.Sprintf("It is a whole number from %.0f on.", *s.Min)}
	}
	return nil
}
