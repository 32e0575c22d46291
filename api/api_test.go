package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"
	"github.com/prometheus/client_golang/prometheus"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

func TestMain(m *testing.M) {
	openapi3filter.RegisterBodyDecoder("application/schema+json", openapi3filter.JSONBodyDecoder)
	openapi3filter.RegisterBodyDecoder(typeEvents, openapi3filter.PlainBodyDecoder)
	os.Exit(m.Run())
}

// fakePool answers as its functions say; without one, with an empty success.
type fakePool struct {
	submit func(context.Context, worker.Input, *request.CheckPlan) (*answer.Answer, error)
	mend   func(worker.Input) (*answer.Answer, error)
	clean  []byte
	busy   error
	stuck  bool
}

func (p *fakePool) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	switch plan := plan.(type) {
	case *request.CheckPlan:
		if p.submit != nil {
			return p.submit(ctx, in, plan)
		}
		return emptyResult(in), nil
	case *request.CleanPlan:
		a := &answer.Answer{}
		score := p.clean
		if score == nil {
			score = in.Data
		}
		a.AddScore(answer.Clean, 0, score)
		return a, nil
	case *request.MendPlan:
		if p.mend != nil {
			return p.mend(in)
		}
	}
	return nil, fmt.Errorf("the fake pool does no job %q", plan.Job())
}

func (p *fakePool) Parse(_ context.Context, work func() error) error { return work() }
func (p *fakePool) Admit(request.Job) error                          { return p.busy }
func (p *fakePool) Stuck() bool                                      { return p.stuck }
func (p *fakePool) Drain(context.Context) error                      { return nil }

// emptyResult is a score without notes, marked by a comment.
func emptyResult(in worker.Input) *answer.Answer {
	marked := in.Data
	if !isContainer(marked) {
		marked = append(bytes.Clone(marked), "<!-- marked -->"...)
	}
	a := &answer.Answer{
		Report: &report.Report{
			File: in.Name, Engine: "test", RuleSet: "strict-chorale",
			Score: report.Score{
				Quarters: "0", Layout: "none", Voices: []report.Voice{}, SetAside: []report.SetAside{},
			},
			Notices: []report.Notice{}, Findings: []report.Finding{},
			Summary: report.Summary{ByRule: map[string]int{}},
		},
	}
	a.AddScore(answer.Marked, 0, marked)
	return a
}

// service is a server under test whose every answer is held against the contract.
type service struct {
	t        testing.TB
	server   *Server
	registry *prometheus.Registry
	log      *bytes.Buffer
	routes   routers.Router
}

func newService(t testing.TB, p jobs, config Config) *service {
	t.Helper()
	s := &service{t: t, registry: prometheus.NewRegistry(), log: &bytes.Buffer{}}
	var err error
	if s.server, err = newServer(config, p, s.registry, slog.New(slog.NewJSONHandler(s.log, nil))); err != nil {
		t.Fatal(err)
	}
	if s.routes, err = legacy.NewRouter(s.server.handlers.contract.document); err != nil {
		t.Fatal(err)
	}
	return s
}

// do sends a request through the handler and checks the answer.
func (s *service) do(r *http.Request) *httptest.ResponseRecorder {
	s.t.Helper()
	w := httptest.NewRecorder()
	s.server.Handler().ServeHTTP(w, r)
	s.conforms(r, w.Code, w.Header(), w.Body.Bytes())
	return w
}

// conforms fails the test if the contract does not describe the answer.
func (s *service) conforms(r *http.Request, status int, header http.Header, body []byte) {
	s.t.Helper()
	if header.Get("X-Request-Id") == "" {
		s.t.Errorf("%s %s: no request id", r.Method, r.URL.Path)
	}
	described := r.Clone(r.Context())
	if r.Method == http.MethodHead {
		described.Method = http.MethodGet
	}
	route, params, err := s.routes.FindRoute(described)
	// 404 and 405 stand outside of every operation; the test's router is lenient
	// where a slash ends the path, the service is not.
	if err != nil || strings.HasSuffix(r.URL.Path, "/") {
		s.isProblem(status, header, body)
		return
	}
	err = openapi3filter.ValidateResponse(context.Background(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{
			Request: described, PathParams: params, Route: route,
		},
		Status: status, Header: header, Body: io.NopCloser(bytes.NewReader(body)),
		Options: &openapi3filter.Options{
			IncludeResponseStatus: true, ExcludeResponseBody: r.Method == http.MethodHead, MultiError: true,
		},
	})
	if err != nil {
		s.t.Errorf("%s %s: the answer %d is not as described: %v\n%.400s", r.Method, r.URL.Path, status, err, body)
	}
	if status >= 400 && r.Method != http.MethodHead {
		s.isProblem(status, header, body)
	}
}

func (s *service) isProblem(status int, header http.Header, body []byte) Problem {
	s.t.Helper()
	if got := header.Get("Content-Type"); got != "application/problem+json" {
		s.t.Errorf("an error %d of type %q, want a problem document: %.200s", status, got, body)
	}
	var value any
	if err := json.Unmarshal(body, &value); err != nil {
		s.t.Fatalf("%v: %.200s", err, body)
	}
	schema := s.server.handlers.contract.document.Components.Schemas["Problem"].Value
	if err := schema.VisitJSON(value, openapi3.EnableJSONSchema2020()); err != nil {
		s.t.Error(err)
	}
	var p Problem
	if err := json.Unmarshal(body, &p); err != nil {
		s.t.Fatal(err)
	}
	if p.Status != status {
		s.t.Errorf("the document says %d, the answer %d", p.Status, status)
	}
	if p.Instance != "#"+header.Get("X-Request-Id") {
		s.t.Errorf("instance %q does not name request %q", p.Instance, header.Get("X-Request-Id"))
	}
	if _, ok := kindByCode(strings.TrimPrefix(p.Type, "/v1/problems/")); !ok {
		s.t.Errorf("type %q is explained nowhere", p.Type)
	}
	return p
}

// problem returns the problem document of an answer.
func (s *service) problem(w *httptest.ResponseRecorder) Problem {
	s.t.Helper()
	return s.isProblem(w.Code, w.Header(), w.Body.Bytes())
}

const tinyScore = `<?xml version="1.0"?><score-partwise/>`

// post is a plain upload of a score.
func post(path, body string, header ...string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
	r.Header.Set("Content-Type", typeMusicXML)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	return r
}

func get(path string, header ...string) *http.Request {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	return r
}

func newRecorder(handler http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	return w
}
