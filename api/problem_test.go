package api

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/pool"
	"partwright/worker/request"
	"partwright/worker/stage"
	"partwright/worker/store"
)

func TestProblemOf(t *testing.T) {
	for _, tt := range []struct {
		why    string
		err    error
		kind   *kind
		status int
	}{
		{"a score that is none", &musicxml.InputError{Code: "no-root-element", Problem: "It is empty."}, unreadableScore, 422},
		{"a score over a limit", &musicxml.InputError{Code: musicxml.CodeLimit}, limitExceeded, 413},
		{"wrapped errors count", fmt.Errorf("reading: %w", &musicxml.InputError{Code: "x"}), unreadableScore, 422},
		{"a body past its limit", &http.MaxBytesError{Limit: 5}, uploadTooLarge, 413},
		{"the queue is full", &pool.BusyError{RetryAfter: time.Second}, busy, 503},
		{"no memory for uploads", errUploadMemory, busy, 503},
		{"no room for the database", fmt.Errorf("adding: %w", store.ErrFull), diskFull, 503},
		{"no room for an upload", &fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}, diskFull, 503},
		{"the database is gone", fmt.Errorf("adding: %w", store.ErrDown), databaseDown, 503},
		{"shutting down", pool.ErrDraining, shuttingDown, 503},
		{"one score for too long: sending it again does not help", stage.ErrDeadline, timeLimit, 422},
		{"a panic is ours", &stage.PanicError{Stage: stage.Check, Value: "x"}, internalError, 500},
		{"a voicing that cannot be asked for", &worker.RequestError{Problem: "no such style"}, invalidRequest, 400},
		{"a progression that is none", &voicing.ProgressionError{Line: 2, Problem: "x"}, unreadableProgression, 422},
		{"a chord that no voices can sing", &voicing.ImpossibleError{Alone: true}, noVoicing, 422},
		{"a language without words", &request.Error{Field: "language", Err: request.ErrLanguage}, unknownLanguage, 400},
		{"a rule set that is none", &request.Error{Field: "rule_set", Err: &request.ChoiceError{}}, unknownRuleSet, 400},
		{"a rubric that is none", &request.Error{Field: "rubric", Err: &request.ChoiceError{}}, unknownRubric, 400},
		{"a name and a file for one thing", &request.Error{Field: "own_rubric", Err: request.ErrBoth}, invalidRequest, 400},
		{"an option that cannot be met", &request.Error{Field: "annotate", Err: errors.New("needs marks")}, invalidRequest, 400},
		{"an option of a batch", batchError(&request.Error{Field: "annotate", Err: errors.New("needs marks")}), unusableOption, 422},
		{"a slow client", fmt.Errorf("reading: %w", os.ErrDeadlineExceeded), uploadTimeout, 408},
		{"a client that promised more", io.ErrUnexpectedEOF, incompleteUpload, 400},
		{"anything else", errors.New("disk on fire"), internalError, 500},
	} {
		t.Run(tt.why, func(t *testing.T) {
			p := problemOf(tt.err)
			if p.Type != tt.kind.uri() || p.Status != tt.status {
				t.Errorf("got %d %s, want %d %s", p.Status, p.Type, tt.status, tt.kind.uri())
			}
			if tt.status == 500 && p.Detail != tt.kind.Meaning {
				t.Errorf("an error of ours says %q: it may show nothing of its cause", p.Detail)
			}
		})
	}
}

func TestInputErrorTellsWhere(t *testing.T) {
	s := newService(t, &fakePool{submit: func(context.Context, worker.Input, *request.CheckPlan) (*answer.Answer, error) {
		return nil, &musicxml.InputError{
			Code: "duration-not-a-number", File: "Hymn.xml", Entry: "score.xml", Part: "P2", Measure: "X1", Line: 71, Column: 9,
			Problem: `The duration "quarter" is not a number.`, Advice: "Write the duration in divisions.",
		}
	}}, Config{})
	got := s.problem(s.do(post("/v1/checks", tinyScore)))
	want := Problem{
		Type: "/v1/problems/unreadable-score", Title: "The score cannot be read", Status: 422, Instance: got.Instance,
		Code: "duration-not-a-number", File: "Hymn.xml", Entry: "score.xml", Part: "P2", Measure: "X1", Line: 71, Column: 9,
		Detail: `The duration "quarter" is not a number.`, Advice: "Write the duration in divisions.",
	}
	if got != want {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// scoreBodies is the header Accept of an answer 415 where a score is asked for.
const scoreBodies = "application/octet-stream, application/vnd.recordare.musicxml, application/vnd.recordare.musicxml+xml, application/xml, multipart/form-data, text/xml"

func TestRequestsThatAreRefused(t *testing.T) {
	full := &fakePool{busy: &pool.BusyError{RetryAfter: 7 * time.Second}}
	for _, tt := range []struct {
		name    string
		pool    *fakePool
		request *http.Request
		kind    *kind
		header  [2]string // one that must be there
	}{
		{"no such address", nil, get("/v2/checks"), notFound, [2]string{}},
		{"a path out of the tree", nil, get("/v1/../../etc/group"), notFound, [2]string{}},
		{"a slash too many", nil, get("/v1/rules/"), notFound, [2]string{}},
		{"no such rule", nil, get("/v1/rules/no-such-rule"), notFound, [2]string{}},
		{"a rule's id in capitals", nil, get("/v1/rules/NO"), invalidRequest, [2]string{}},
		{"no such problem", nil, get("/v1/problems/no-such-problem"), notFound, [2]string{}},
		{"GET where POST belongs", nil, get("/v1/checks"), methodNotAllowed, [2]string{"Allow", "POST"}},
		{"DELETE of rules", nil, func() *http.Request { r := get("/v1/rules"); r.Method = "DELETE"; return r }(), methodNotAllowed, [2]string{"Allow", "GET, HEAD"}},
		{"a method of the client's own", nil, func() *http.Request { r := get("/v1/rules"); r.Method = "SING"; return r }(), methodNotAllowed, [2]string{"Allow", "GET, HEAD"}},
		{"a form of keys and values, as curl -d sends it", nil, post("/v1/checks", tinyScore, "Content-Type", "application/x-www-form-urlencoded"), unsupportedMediaType, [2]string{"Accept", scoreBodies}},
		{"JSON", nil, post("/v1/checks", "{}", "Content-Type", "application/json"), unsupportedMediaType, [2]string{"Accept", scoreBodies}},
		{"a type that is none", nil, post("/v1/checks", tinyScore, "Content-Type", "///"), unsupportedMediaType, [2]string{"Accept", scoreBodies}},
		{"a packed body", nil, post("/v1/checks", tinyScore, "Content-Encoding", "gzip"), unsupportedMediaType, [2]string{"Accept", scoreBodies}},
		{"not acceptable", nil, post("/v1/checks", tinyScore, "Accept", "image/png"), notAcceptable, [2]string{"Vary", "Accept, Accept-Language"}},
		{"too large", nil, post("/v1/checks", strings.Repeat(" ", 2000)), uploadTooLarge, [2]string{}},
		{"an unknown rule set", nil, post("/v1/checks?rule_set=no-such-set", tinyScore), unknownRuleSet, [2]string{}},
		{"an unknown language", nil, post("/v1/checks?language=tlh", tinyScore), unknownLanguage, [2]string{}},
		{"a language that is none", nil, post("/v1/checks?language=%3Cscript%3E", tinyScore), invalidRequest, [2]string{}},
		{"too many ways to mend", nil, post("/v1/checks?fixes=6", tinyScore), invalidRequest, [2]string{}},
		{"marks that are neither", nil, post("/v1/checks?marks=maybe", tinyScore), invalidRequest, [2]string{}},
		{"a misspelled parameter", nil, post("/v1/checks?ruleset=strict-chorale", tinyScore), invalidRequest, [2]string{}},
		{"a parameter twice", nil, post("/v1/checks?marks=true&marks=false", tinyScore), invalidRequest, [2]string{}},
		{"a query that is none", nil, post("/v1/checks?%zz", tinyScore), invalidRequest, [2]string{}},
		{"a full queue", full, post("/v1/checks", tinyScore), busy, [2]string{"Retry-After", "7"}},
		{"a full queue for cleanings", full, post("/v1/cleanings", tinyScore), busy, [2]string{"Retry-After", "7"}},
		{"every worker stuck", &fakePool{stuck: true}, get("/readyz"), notReady, [2]string{"Retry-After", "5"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			pool := tt.pool
			if pool == nil {
				pool = &fakePool{}
			}
			s := newService(t, pool, Config{MaxUpload: 1000})
			w := s.do(tt.request)
			p := s.problem(w)
			if p.Type != tt.kind.uri() {
				t.Errorf("got %d %s (%s), want %s", w.Code, p.Type, p.Detail, tt.kind.uri())
			}
			if name, want := tt.header[0], tt.header[1]; name != "" && w.Header().Get(name) != want {
				t.Errorf("%s: %q, want %q", name, w.Header().Get(name), want)
			}
		})
	}
}

func TestPanicShowsNothing(t *testing.T) {
	s := newService(t, &fakePool{submit: func(context.Context, worker.Input, *request.CheckPlan) (*answer.Answer, error) {
		panic("words of a pupil's song")
	}}, Config{})
	w := s.do(post("/v1/checks", tinyScore))
	if p := s.problem(w); p.Status != 500 || p.Detail != internalError.Meaning {
		t.Errorf("got %d %q", p.Status, p.Detail)
	}
	if log := s.log.String(); strings.Contains(log, "pupil") || !strings.Contains(log, "problem_test.go") {
		t.Errorf("the log should hold the stack and not the value: %s", log)
	}
	if w := s.do(get("/healthz")); w.Code != 200 {
		t.Errorf("after a panic the service answers %d", w.Code)
	}
}

func TestEveryProblemIsExplained(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	seen := map[string]bool{}
	for _, k := range kinds {
		if seen[k.Code] {
			t.Errorf("two problems are called %s", k.Code)
		}
		seen[k.Code] = true
		if k.Title == "" || k.Meaning == "" || k.Advice == "" || http.StatusText(k.Status) == "" {
			t.Errorf("%s has something empty: %+v", k.Code, *k)
		}
		if w := s.do(get(k.uri())); w.Code != 200 || !strings.Contains(w.Body.String(), k.Title) {
			t.Errorf("%s leads to %d", k.uri(), w.Code)
		}
	}
	if w := s.do(get("/v1/problems")); strings.Count(w.Body.String(), `"meaning"`) != len(kinds) {
		t.Errorf("the list does not hold all %d problems", len(kinds))
	}
}
