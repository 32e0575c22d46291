package api

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"partwright/worker/request"
)

// boundOperation is an operation with the request that it is bound to.
type boundOperation struct {
	method, path string
	request      request.Request
	// apart are the parameters and fields that are no fields of the request, and fields
	// that the operation does not take, each with the reason.
	apart map[string]string
}

const ofTheBody = "the body"

var operations = []boundOperation{
	{http.MethodPost, "/v1/checks", &request.Check{}, map[string]string{"score": ofTheBody}},
	{http.MethodPost, "/v1/revisions", &request.Revise{}, map[string]string{"score": ofTheBody}},
	{http.MethodPost, "/v1/cleanings", &request.Clean{}, map[string]string{"score": ofTheBody}},
	{http.MethodPost, "/v1/mendings", &request.Mend{}, map[string]string{"score": ofTheBody}},
	{http.MethodPost, "/v1/voicings", &request.Voice{}, map[string]string{"score": ofTheBody}},
	{http.MethodPost, "/v1/continuations", &request.Continue{}, nil},
	{http.MethodPost, "/v1/batches", &request.Batch{}, map[string]string{
		"score": ofTheBody, "open": "how long scores may come, not what is done with them",
	}},
}

// TestContractAndRequestsSayTheSame holds the parameters and fields of every operation
// that works on scores to the fields of its request, both ways: an option that only one
// of them has would be refused, or known to nobody.
func TestContractAndRequestsSayTheSame(t *testing.T) {
	for _, a := range operations {
		t.Run(a.path, func(t *testing.T) {
			operation := contractOf(t).document.Paths.Find(a.path).GetOperation(a.method)
			query, form := queryOf(operation), formOf(operation)
			var named []string
			for _, f := range a.request.Fields() {
				named = append(named, f.Name)
				inForm, inQuery := form[f.Name], query[f.Name]
				switch {
				case inForm == nil && operation.RequestBody != nil:
					t.Errorf("the body has no field %s", f.Name)
				case f.Kind != request.File && f.Name != progressionField && inQuery == nil && a.path != "/v1/continuations":
					t.Errorf("the query has no parameter %s", f.Name)
				}
				if inQuery == nil && a.path == "/v1/continuations" {
					inQuery = inForm // its body is JSON
				}
				if inQuery != nil {
					holdToField(t, &f, inQuery)
				}
			}
			for _, schemas := range []map[string]*openapi3.Schema{query, form} {
				for name := range schemas {
					if _, apart := a.apart[name]; !apart && !slices.Contains(named, name) {
						t.Errorf("the contract has %s, which the request has not", name)
					}
				}
			}
		})
	}
}

func queryOf(o *openapi3.Operation) map[string]*openapi3.Schema {
	all := map[string]*openapi3.Schema{}
	for _, p := range o.Parameters {
		if p.Value.In == openapi3.ParameterInQuery {
			all[p.Value.Name] = p.Value.Schema.Value
		}
	}
	return all
}

// formOf are the fields of a form, or the properties of a JSON object.
func formOf(o *openapi3.Operation) map[string]*openapi3.Schema {
	all := map[string]*openapi3.Schema{}
	for _, mediaType := range []string{"multipart/form-data", typeJSON} {
		content := o.RequestBody.Value.Content[mediaType]
		if content == nil {
			continue
		}
		for name, property := range content.Schema.Value.Properties {
			all[name] = property.Value
		}
	}
	return all
}

// holdToField compares what a schema says of a parameter with its field.
func holdToField(t *testing.T, f *request.Field, s *openapi3.Schema) {
	t.Helper()
	types := map[request.Kind]string{
		request.Yes: openapi3.TypeBoolean, request.Whole: openapi3.TypeInteger, request.Decimal: openapi3.TypeNumber,
		request.Text: openapi3.TypeString, request.List: openapi3.TypeString, request.File: openapi3.TypeString,
	}
	if want := types[f.Kind]; !s.Type.Is(want) && !(f.Kind == request.List && s.Type.Is(openapi3.TypeArray)) {
		t.Errorf("%s is %v in the contract, want %s", f.Name, s.Type, want)
	}
	if s.Default != nil && fmt.Sprint(s.Default) != f.Default {
		t.Errorf("%s is %v by default in the contract, want %q", f.Name, s.Default, f.Default)
	}
	if s.Default == nil && f.Kind != request.Yes && f.Default != "" && f.Default != "0" && f.Name != languageField {
		t.Errorf("the contract does not say that %s is %q by default", f.Name, f.Default)
	}
	if f.Most > f.Least {
		bounds := fmt.Sprint(bound(s.Min), " to ", bound(s.Max))
		if want := fmt.Sprint(bound(&f.Least), " to ", bound(&f.Most)); bounds != want {
			t.Errorf("%s is from %s in the contract, want %s", f.Name, bounds, want)
		}
	}
	if len(s.Enum) > 0 && fmt.Sprint(s.Enum) != fmt.Sprint(f.Choices) {
		t.Errorf("%s is one of %v in the contract, want %v", f.Name, s.Enum, f.Choices)
	}
	if s.MaxLength != nil && *s.MaxLength > uint64(f.Longest) {
		t.Errorf("%s may have %d characters in the contract, of which %d bytes are read", f.Name, *s.MaxLength, f.Longest)
	}
}

func bound(n *float64) string {
	if n == nil {
		return "nothing"
	}
	return strconv.FormatFloat(*n, 'f', -1, 64)
}
