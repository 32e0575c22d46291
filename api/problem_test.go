package api

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"partwright/api/webhook"
	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
	"partwright/worker/store"
)

// TestProblemOf has at least one case for every row of the table of errors.
func TestProblemOf(t *testing.T) {
	fieldError := func(field string, err error) error { return &request.Error{Field: field, Err: err} }
	wrong := []settings.Problem{{Line: 3, Message: "no such rule"}}
	rubric := &settings.Error{File: "r.yaml", What: settings.RubricFile, Lines: wrong}
	costs := &settings.Error{File: "c.yaml", What: settings.CostsFile, Lines: wrong}
	labels := &settings.Error{File: "l.txt", What: settings.LabelsFile, Lines: wrong}
	ruleSet := &settings.Error{File: "s.yaml", What: "rule set", Lines: wrong}
	needsMarks := errors.New("needs marks")
	tried := map[*errorRow]bool{}
	for _, tt := range []struct {
		why    string
		err    error
		kind   *kind
		status int
		detail string // "" for the meaning of the kind
	}{
		{"a batch that is none", inBatches.of(store.ErrNotFound), notFound, 404, "There is no such batch, or no such score in it."},
		{"a batch made and deleted", inBatches.of(batch.ErrDeleted), notFound, 404,
			"The batch that was made with this Idempotency-Key has been deleted. Use another key to make it again."},
		{"a batch deleted while its scores came", inBatches.of(batch.ErrGivenUp), wrongState, 409,
			"The batch was deleted while its scores came: by a client, or because this service had lost its database. Send them again."},
		{"a key used for another request", inBatches.of(store.ErrKeyReused), keyReused, 422, ""},
		{"a key whose request is not answered yet", inBatches.of(batch.ErrInProgress), keyInProgress, 409, ""},
		{"a score for a closed batch", inBatches.of(batch.ErrClosed), batchClosed, 409, ""},
		{"a batch in another state", inBatches.of(fmt.Errorf("resuming: %w", batch.ErrState)), wrongState, 409, ""},
		{"a catalogue that is none", inBatches.of(&batch.CatalogueError{Problem: "line 1 of the catalogue: two columns have the name \"a\""}), invalidRequest, 400,
			"Line 1 of the catalogue: two columns have the name \"a\"."},
		{"a webhook that is none", inWebhooks.of(store.ErrNotFound), notFound, 404, "There is no such webhook, or no such delivery to it."},
		{"an address that nothing is sent to", inWebhooks.of(&webhook.URLError{Problem: "it has no host"}), unusableAddress, 422, "It has no host."},
		{"a webhook too many", inWebhooks.of(webhook.ErrTooMany), tooManyWebhooks, 409,
			fmt.Sprintf("An organization may have %d webhooks.", webhook.MaxWebhooks)},
		{"a delivery that waits", inWebhooks.of(webhook.ErrWaiting), deliveryWaits, 409, ""},
		{"an assignment that is none", inClasses.of(store.ErrNotFound), notFound, 404, "There is no such assignment, or nothing was handed in to it under that reference."},
		{"work that comes too early", inClasses.of(classbook.ErrClosed), workNotTaken, 409, "The assignment has not opened yet."},
		{"a key of another hand-in", inClasses.of(store.ErrKeyReused), keyReused, 422, ""},
		{"what a pupil may not see yet", inClasses.of(classbook.ErrNotShown), notShown, 403, ""},
		{"two who decide at once", inClasses.of(store.ErrMeanwhile), decidedMeanwhile, 409, ""},
		{"marking again that would change something else", inClasses.of(classbook.ErrOtherChanges), decidedMeanwhile, 409,
			"What marking again would change is not what was shown: something was handed in or decided since. Ask without confirm what it is now."},
		{"the last teacher", inClasses.of(classbook.ErrLastTeacher), lastTeacher, 409, ""},
		{"a decision about nothing", inClasses.of(&classbook.InvalidError{Problem: "there is no finding 7"}), invalidRequest, 400, "There is no finding 7."},
		{"an assignment that closes before it opens", inClasses.of(&classroom.FieldError{Field: "closes", Problem: "too early"}), invalidRequest, 400, "Closes: too early."},
		{"an exercise without an answer", inClasses.of(&classroom.UnsolvableError{Obstacle: "no voice reaches it"}), unsolvable, 422, "The exercise cannot be solved: no voice reaches it."},
		{"nothing found outside of batches and webhooks is ours", store.ErrNotFound, internalError, 500, ""},
		{"a state of a batch outside of batches is ours", batch.ErrState, internalError, 500, ""},

		{"a score that is none", &musicxml.InputError{Code: "no-root-element", Problem: "It is empty."}, unreadableScore, 422, "It is empty."},
		{"a score over a limit", &musicxml.InputError{Code: musicxml.CodeLimit}, limitExceeded, 413, ""},
		{"wrapped errors count", fmt.Errorf("reading: %w", &musicxml.InputError{Code: "x"}), unreadableScore, 422, ""},

		{"a rubric that cannot be read", rubric, unreadableRubric, 422,
			rubric.Error()},
		{"labels that cannot be read", labels, unreadableLabels, 422,
			labels.Error()},
		{"costs that cannot be read", costs, unreadableCosts, 422,
			costs.Error()},
		{"a rule set that cannot be read, in a field of a batch", inBatches.of(fieldError("own_rule_set", ruleSet)), unreadableRuleSet, 422,
			ruleSet.Error()},

		{"a name and a file for one thing", fieldError("own_rubric", request.ErrBoth), invalidRequest, 400,
			"There is a rubric by name and one of your own; only one can apply."},
		{"a language without words", fieldError("language", request.ErrLanguage), unknownLanguage, 400, ""},
		{"a rule set that does not exist", fieldError("rule_set", &request.ChoiceError{}), unknownRuleSet, 400, ""},
		{"a rubric that does not exist", fieldError("rubric", &request.ChoiceError{}), unknownRubric, 400, ""},
		{"a rubric that does not exist, for a batch", inBatches.of(fieldError("rubric", &request.ChoiceError{})), unknownRubric, 400, ""},
		{"an option that cannot be met", fieldError("annotate", needsMarks), invalidRequest, 400, "The option annotate cannot be met: needs marks."},
		{"an option of a batch", inBatches.of(fieldError("annotate", needsMarks)), unusableOption, 422, "The option annotate cannot be met: needs marks."},
		{"a voicing that cannot be asked for", &worker.RequestError{Problem: "no such style"}, invalidRequest, 400, "No such style."},
		{"a progression that is none", &voicing.ProgressionError{Line: 2, Problem: "x"}, unreadableProgression, 422, "X."},
		{"a chord that no voices can sing", &voicing.ImpossibleError{Alone: true}, noVoicing, 422,
			sentence((&voicing.ImpossibleError{Alone: true}).Error())},

		{"a quota that is reached", fmt.Errorf("adding: %w", &store.QuotaError{What: "scores", Quota: 5}), quotaReached, 403,
			sentence((&store.QuotaError{What: "scores", Quota: 5}).Error())},
		{"a body past its limit", &http.MaxBytesError{Limit: 5}, uploadTooLarge, 413, "The body is larger than 5 bytes."},
		{"no room for the database", fmt.Errorf("adding: %w", store.ErrFull), diskFull, 503, ""},
		{"no room for an upload", &fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}, diskFull, 503, ""},
		{"blobs cannot be reached", fmt.Errorf("adding: %w", store.ErrBlobs), blobsDown, 503, ""},
		{"a blob is gone", fmt.Errorf("reading: %w", store.ErrBlobGone), blobGone, 500, ""},
		{"the database is gone", fmt.Errorf("adding: %w", store.ErrDown), databaseDown, 503, ""},
		{"one score for too long: sending it again does not help", stage.ErrDeadline, timeLimit, 422, ""},
		{"one score with too many voices to choose from", &theory.MemoryError{Most: 256 << 20}, memoryLimit, 422,
			"The work needs more than the 256 MB of memory it may take."},
		{"one score that ends each process that works on it", stage.ErrLost, workLost, 422, ""},
		{"the queue is full", &pool.BusyError{RetryAfter: time.Second}, busy, 503, ""},
		{"no memory for uploads", errUploadMemory, busy, 503, ""},
		{"shutting down", pool.ErrDraining, shuttingDown, 503, ""},
		{"a slow client", fmt.Errorf("reading: %w", os.ErrDeadlineExceeded), uploadTimeout, 408, ""},
		{"a client that promised more", io.ErrUnexpectedEOF, incompleteUpload, 400, ""},
		{"a form with long headers", multipart.ErrMessageTooLarge, malformedForm, 400, "The headers of its parts are too long."},

		{"a panic is ours", &stage.PanicError{Stage: stage.Check, Value: "x"}, internalError, 500, ""},
		{"anything else", errors.New("disk on fire"), internalError, 500, ""},
		{"a refusal knows its kind", inBatches.of(refuse(missingScore, "None came.")), missingScore, 400, "None came."},
	} {
		t.Run(tt.why, func(t *testing.T) {
			p := problemOf(tt.err)
			if p.Type != tt.kind.uri() || p.Status != tt.status {
				t.Errorf("got %d %s, want %d %s", p.Status, p.Type, tt.status, tt.kind.uri())
			}
			// The text of an error of ours may show nothing of its cause.
			if want := cmp.Or(tt.detail, tt.kind.Meaning); p.Detail != want {
				t.Errorf("detail %q, want %q", p.Detail, want)
			}
		})
		tried[rowOf(tt.err)] = true
	}
	for i := range errorRows {
		if row := &errorRows[i]; !tried[row] {
			t.Errorf("row %d of the table of errors, for %s, has no case here", i, row.kind.Code)
		}
	}
}

// What ends a form is a fault of the form unless it is known to be something else.
func TestFormError(t *testing.T) {
	tried := map[*errorRow]bool{}
	for _, tt := range []struct {
		err  error
		kind *kind
	}{
		{refuse(missingScore), missingScore},
		{fmt.Errorf("part: %w", &http.MaxBytesError{Limit: 5}), uploadTooLarge},
		{errUploadMemory, busy},
		{fmt.Errorf("part: %w", pool.ErrDraining), shuttingDown},
		{fmt.Errorf("part: %w", os.ErrDeadlineExceeded), uploadTimeout},
		{io.ErrUnexpectedEOF, malformedForm},
		{multipart.ErrMessageTooLarge, malformedForm},
		{errors.New("no boundary"), malformedForm},
	} {
		if p := problemOf(formError(tt.err)); p.Type != tt.kind.uri() {
			t.Errorf("%v ends a form as %s, want %s", tt.err, p.Type, tt.kind.uri())
		}
		tried[rowOf(tt.err)] = true
	}
	for i := range errorRows {
		if row := &errorRows[i]; row.keptInForm && !tried[row] {
			t.Errorf("row %d of the table of errors, for %s, has no case here", i, row.kind.Code)
		}
	}
}

func TestKindOfFailure(t *testing.T) {
	for code, want := range map[string]*kind{
		"limit": limitExceeded, "timeout": timeLimit, "fault": internalError, "no-root-element": unreadableScore,
	} {
		if got := kindOfFailure(&report.Failure{Code: code}); got != want {
			t.Errorf("a failure %s is %s, want %s", code, got.Code, want.Code)
		}
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
		{"not acceptable", nil, post("/v1/checks", tinyScore, "Accept", "image/png"), notAcceptable, [2]string{"Vary", "Accept-Encoding, Accept, Accept-Language"}},
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
			if name, want := tt.header[0], tt.header[1]; name != "" && strings.Join(w.Header().Values(name), ", ") != want {
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
