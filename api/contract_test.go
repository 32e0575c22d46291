package api

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"partwright/api/webhook"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/report"
)

func contractOf(t testing.TB) *contract {
	t.Helper()
	c, err := loadContract()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// What is generated is committed; this finds a document that was changed without
// running go generate.
func TestGeneratedCodeIsFresh(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the generator")
	}
	fresh := filepath.Join(t.TempDir(), "fresh.go")
	command := exec.Command("go", "tool", "-modfile=../.ci/tools/go.mod", "oapi-codegen", "-config", "oapi-codegen.yaml", "-o", fresh, "openapi.yaml")
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want, err := os.ReadFile(fresh)
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile("openapi.gen.go")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("openapi.gen.go is older than openapi.yaml: run go generate ./api")
	}
}

// The shape of a report exists once, in package worker; the document describes
// it. Every field of every struct in a report must stand in both, and be required
// exactly where it is always written.
func TestReportIsAsDescribed(t *testing.T) {
	described := map[string]*openapi3.Schema{}
	names := map[string]string{}
	for name, schema := range contractOf(t).document.Components.Schemas {
		if goType, ok := schema.Value.Extensions["x-go-type"].(string); ok {
			described[goType], names[goType] = schema.Value, name
		}
	}
	seen := map[reflect.Type]bool{}
	var walk func(reflect.Type)
	walk = func(kind reflect.Type) {
		switch kind.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Map:
			walk(kind.Elem())
			return
		case reflect.Struct:
		default:
			return
		}
		if seen[kind] || kind == reflect.TypeFor[report.Height]() { // a number or "-"
			return
		}
		seen[kind] = true
		schema := described[kind.String()]
		if schema == nil {
			t.Errorf("no schema in openapi.yaml has the x-go-type %s; add one and run go generate ./api", kind)
			return
		}
		compareFields(t, names[kind.String()], schema, kind)
		for _, field := range reflect.VisibleFields(kind) {
			if !field.Anonymous {
				walk(field.Type)
			}
		}
	}
	for _, root := range []reflect.Type{
		reflect.TypeFor[report.Report](), reflect.TypeFor[report.Voicing](),
		reflect.TypeFor[report.Mending](), reflect.TypeFor[report.Continuation](),
	} {
		walk(root)
	}
	if len(seen) < 20 {
		t.Errorf("only %d structs compared", len(seen))
	}
}

func compareFields(t *testing.T, name string, schema *openapi3.Schema, kind reflect.Type) {
	t.Helper()
	written := map[string]bool{}
	var always []string
	for _, f := range reflect.VisibleFields(kind) {
		if f.Anonymous {
			continue // its fields are written as if they were the struct's own
		}
		field, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		written[field] = true
		if !strings.Contains(options, "omit") {
			always = append(always, field)
		}
	}
	for property := range schema.Properties {
		if !written[property] {
			t.Errorf("openapi.yaml describes %s.%s; %s has no such field", name, property, kind)
		}
		delete(written, property)
	}
	for field := range written {
		t.Errorf("%s writes %q; add it to the schema %s in openapi.yaml and run go generate ./api", kind, field, name)
	}
	required := slices.Clone(schema.Required)
	sort.Strings(required)
	sort.Strings(always)
	if !slices.Equal(required, always) {
		t.Errorf("%s requires %v; %s always writes %v", name, required, kind, always)
	}
}

// Words that clients may rely on are closed sets; the document lists them all.
func TestClosedSetsAreListed(t *testing.T) {
	schemas := contractOf(t).document.Components.Schemas
	var families []any
	for _, f := range partwriting.Families {
		families = append(families, f.String())
	}
	for name, want := range map[string][]any{
		"Family":        families,
		"EventKind":     words(webhook.Kinds),
		"HarmonyStyle":  {harmony.ByTexture.String(), harmony.ChoraleStyle.String(), harmony.FreeStyle.String()},
		"LabelUse":      {harmony.Steer.String(), harmony.Replace.String(), harmony.Ignore.String()},
		"Severity":      {partwriting.Fault.String(), partwriting.Caution.String(), partwriting.Remark.String()},
		"SeverityInSet": {partwriting.Fault.String(), partwriting.Caution.String(), partwriting.Remark.String(), partwriting.Off.String()},
	} {
		if got := schemas[name].Value.Enum; !reflect.DeepEqual(got, want) {
			t.Errorf("%s lists %v, want %v", name, got, want)
		}
	}
}

func words(texts []string) []any {
	all := make([]any, len(texts))
	for i, text := range texts {
		all[i] = text
	}
	return all
}

func TestEveryOperationAnswersEveryError(t *testing.T) {
	document := contractOf(t).document
	for path, item := range document.Paths.Map() {
		for method, operation := range item.Operations() {
			if operation.OperationID == "" || operation.Summary == "" || len(operation.Tags) == 0 {
				t.Errorf("%s %s lacks an id, a summary or a tag", method, path)
			}
			// A query that is not known is 400, another host than this one 421.
			statuses := []int{http.StatusBadRequest, http.StatusMisdirectedRequest, http.StatusInternalServerError}
			if operation.Responses.Status(201) == nil && operation.Responses.Status(202) == nil && operation.Responses.Status(204) == nil {
				statuses = append(statuses, http.StatusOK)
			}
			if !needOf(document, operation).open {
				// Who has a key is asked of the database, which may be away.
				statuses = append(statuses, 401, 403, 429, http.StatusServiceUnavailable)
			}
			if operation.RequestBody != nil {
				statuses = append(statuses, 406, 408, 413, 415, 422, 503)
			}
			for _, status := range statuses {
				response := operation.Responses.Status(status)
				if response == nil {
					t.Errorf("%s %s does not describe %d", method, path, status)
				} else if response.Value.Headers["X-Request-Id"] == nil {
					t.Errorf("%s %s, %d: no X-Request-Id", method, path, status)
				}
			}
		}
	}
}

func TestContractIsServed(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	if w := s.do(get("/v1/openapi.yaml")); !bytes.Equal(w.Body.Bytes(), openAPIYAML) {
		t.Error("the document served is not the one that the code is generated from")
	}
	served, err := openapi3.NewLoader().LoadFromData(s.do(get("/v1/openapi.json")).Body.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(served.Paths.Map()), len(contractOf(t).document.Paths.Map()); got != want || served.OpenAPI != "3.1.0" {
		t.Errorf("as JSON it is OpenAPI %s with %d paths, want 3.1.0 with %d", served.OpenAPI, got, want)
	}
	head := s.do(func() *http.Request { r := get("/v1/openapi.json"); r.Method = http.MethodHead; return r }())
	if head.Code != http.StatusOK || head.Header().Get("Content-Length") == "0" {
		t.Errorf("HEAD: %d, Content-Length %s", head.Code, head.Header().Get("Content-Length"))
	}
}

// compileReportSchema compiles the published schema with a validator that knows
// nothing of OpenAPI.
func compileReportSchema(t testing.TB, text []byte) *jsonschema.Schema {
	t.Helper()
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("http://localhost"+reportSchemaPath, document); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("http://localhost" + reportSchemaPath)
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

func TestReportSchemaStandsAlone(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	text := s.do(get(reportSchemaPath)).Body.Bytes()
	if bytes.Contains(text, []byte("#/components")) || bytes.Contains(text, []byte("x-go-type")) {
		t.Error("the schema still speaks of the document that it comes from")
	}
	schema := compileReportSchema(t, text)
	report, err := json.Marshal(fullReport())
	if err != nil {
		t.Fatal(err)
	}
	valid := func(change func(map[string]any)) error {
		var value map[string]any
		if err := json.Unmarshal(report, &value); err != nil {
			t.Fatal(err)
		}
		change(value)
		return schema.Validate(value)
	}
	if err := valid(func(map[string]any) {}); err != nil {
		t.Errorf("a report is not valid: %v", err)
	}
	for what, change := range map[string]func(map[string]any){
		"no summary":          func(r map[string]any) { delete(r, "summary") },
		"null for a list":     func(r map[string]any) { r["findings"] = nil },
		"an onset as decimal": func(r map[string]any) { finding(r)["onset"] = "1.5" },
		"an unknown severity": func(r map[string]any) { finding(r)["severity"] = "error" },
		"a beat before 1":     func(r map[string]any) { finding(r)["beat"] = 0.5 },
		"a pitch as a number": func(r map[string]any) { finding(r)["notes"].([]any)[0].(map[string]any)["pitch"] = 60 },
		"a height as a word":  func(r map[string]any) { r["score"].(map[string]any)["high"] = "C4" },
	} {
		if valid(change) == nil {
			t.Errorf("%s passes the schema", what)
		}
	}
}

func finding(r map[string]any) map[string]any { return r["findings"].([]any)[0].(map[string]any) }

// fullReport has something in every field: two voices a fifth apart that both
// step up.
func fullReport() *report.Report {
	index := 1
	note := report.Note{Voice: "V1", Onset: "3/2", Pitch: "F#4", Part: "P1", Staff: 1, Layer: "1", Line: 40, Column: 5}
	return &report.Report{
		File: "hymn.xml", Engine: "1.0", RuleSet: "strict-chorale",
		Score: report.Score{
			Title: "Hymn", Parts: 1, Measures: 2, Notes: 4, Grace: 1, XMLVoices: 2, Quarters: "15/2",
			High: report.Height{Number: 66, Pitched: true}, Low: report.Height{}, Layout: "closed", Found: "by layer",
			Voices:   []report.Voice{{Name: "V1", Part: "P1", Staff: 1, Found: "by layer", Notes: 2, Low: "E4", High: "F#4"}},
			SetAside: []report.SetAside{{Part: "P2", Notes: 3, Reason: "percussion"}},
		},
		Notices: []report.Notice{{Code: "measure-overfull", Part: "P1", Measure: "X1", MeasureIndex: &index, Line: 9, Message: "Too long."}},
		Findings: []report.Finding{{
			Number: 1, Rule: "parallel-fifths", Family: "consecutives", Severity: "fault", Measure: "1", Beat: 2.5,
			Offset: "3/2", Onset: "3/2", Voices: []string{"V1", "V2"}, Notes: []report.Note{note}, Related: []report.Note{note},
			Message: "parallel fifths", Why: "because", Source: "a book",
			Fixes: []report.Fix{{Edits: []report.Edit{{Note: note, To: "G4"}}}},
		}},
		Summary: report.Summary{Faults: 1, ByRule: map[string]int{"parallel-fifths": 1}},
	}
}
