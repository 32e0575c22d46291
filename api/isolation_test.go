package api

import (
	"context"
	"crypto/rand"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// openToAll are the operations that need no key: they show nothing that belongs
// to anybody.
var openToAll = []string{
	"getHealth", "getLiveness", "getReadiness", "getOpenAPIJSON", "getOpenAPIYAML", "getReportSchema", "listProblems", "getProblem",
	"listRules", "getRule", "listRuleSets", "getRuleSet", "listRubrics",
	"getSession", "beginSession", "endSession", // each is about the browser that asks, see TestBrowserSignsInAndOut
}

// things makes what an organization can have, of each kind that an address can
// name, by the name of the parameter. A new kind of id needs a line here.
func (s *tenants) things(organization, key string) map[string]string {
	hook, delivery := s.hookOf(organization, key)
	s.fails(organization, delivery) // so that it can be replayed
	return map[string]string{
		"assignment": s.assignmentOf(organization, "somebody", "another"), "teacher": "another", "reference": "p07", "attempt": "1", "webhook": hook, "delivery": delivery, "batch": s.batchOf(organization), "number": "1", "table": "findings",
	}
}

// wholeNote is a score that can be read.
const wholeNote = `<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>S</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure></part></score-partwise>`

// assignmentOf makes an assignment to which p07 has handed in, and gives it to teachers.
func (s *tenants) assignmentOf(organization string, teachers ...string) string {
	s.t.Helper()
	classes := s.server.handlers.config.Classes
	a := &classroom.Assignment{ID: classroom.NewID(), Title: "Quiz"}
	err := a.Check()
	if err == nil {
		err = classes.Keep(context.Background(), organization, a, teachers...)
	}
	if err == nil {
		_, err = classes.HandIn(context.Background(), organization, a.ID, "p07", []byte(wholeNote))
	}
	if err != nil {
		s.t.Fatal(err)
	}
	return a.ID
}

// bodies are requests for the schemas that a body of JSON must follow.
var bodies = map[string]string{
	"NewWebhook":          newHook,
	"WebhookChange":       `{"on":false}`,
	"NewAssignment":       `{"title":"Quiz","task":"C: I V I"}`,
	"NewCopy":             `{"title":"Quiz of the next year"}`,
	"ScoreEdits":          `{"edits":[]}`,
	"NewDecision":         `{"do":"set-mark","reference":"p07","mark":7.5}`,
	"NewMarking":          `{"rubric":"hundred"}`,
	"RemarkStock":         `{"remarks":{"far":"The tenor is out of reach."}}`,
	"ContinuationRequest": `{"chords":["V7","I"]}`,
}

// operation is one of the contract.
type operation struct {
	*openapi3.Operation
	method, path string
	need         need
}

func operationsOf(t *testing.T) []operation {
	t.Helper()
	document := contractOf(t).document
	var all []operation
	for _, path := range slices.Sorted(maps.Keys(document.Paths.Map())) {
		item := document.Paths.Find(path)
		for _, method := range slices.Sorted(maps.Keys(item.Operations())) {
			o := item.Operations()[method]
			all = append(all, operation{o, method, path, needOf(document, o)})
			if method == http.MethodGet {
				all = append(all, operation{o, http.MethodHead, path, needOf(document, o)})
			}
		}
	}
	return all
}

// ids are the parameters of the path.
func (o operation) ids() []string {
	var names []string
	for _, segment := range strings.Split(o.path, "/") {
		if strings.HasPrefix(segment, "{") {
			names = append(names, strings.Trim(segment, "{}"))
		}
	}
	return names
}

// request is one with the ids given.
func (o operation) request(t *testing.T, ids map[string]string) *http.Request {
	t.Helper()
	path := o.path
	for _, name := range o.ids() {
		if ids[name] == "" {
			t.Fatalf("things makes no %q; say there how to make one", name)
		}
		path = strings.Replace(path, "{"+name+"}", ids[name], 1)
	}
	r := httptest.NewRequest(o.method, path, nil)
	if o.OperationID == "followBatch" {
		ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond) // it would not end by itself
		t.Cleanup(cancel)
		r = r.WithContext(ctx)
	}
	if o.RequestBody == nil {
		return r
	}
	content := o.RequestBody.Value.Content
	if content[typeCSV] != nil {
		table := "reference,score\np07,7.5\n"
		if o.OperationID == "setCatalogue" {
			table = "file,licence\nscore.musicxml,CC0\n"
		}
		r := httptest.NewRequest(o.method, path, strings.NewReader(table))
		r.Header.Set("Content-Type", typeCSV)
		return r
	}
	json, ok := content[typeJSON]
	if !ok {
		r := post(path, tinyScore)
		if o.Parameters.GetByInAndName(openapi3.ParameterInHeader, "Idempotency-Key") != nil {
			r.Header.Set("Idempotency-Key", rand.Text())
		}
		return r
	}
	name := strings.TrimPrefix(json.Schema.Ref, "#/components/schemas/")
	if bodies[name] == "" {
		t.Fatalf("bodies has no %s", name)
	}
	return body(o.method, path, bodies[name])
}

// Whatever the contract lists is held to the same: nobody without a key gets in,
// and nobody finds, changes or deletes what belongs to another organization, or
// learns that it exists.
func TestOrganizationsAreIsolated(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{Key: KeyLimits{Burst: 1 << 20, Rate: 1 << 20}})
		s.withoutSending()
		named := 0
		for _, o := range operationsOf(t) {
			if o.need.open {
				continue
			}
			t.Run(o.method+" "+o.path, func(t *testing.T) {
				in := &tenants{s.in(t), s.store}
				owner, ownKey := in.organization(store.Quotas{}, account.Scopes...)
				_, otherKey := in.organization(store.Quotas{}, account.Scopes...)
				things := in.things(owner, ownKey)
				if w := in.do(o.request(t, things)); w.Code != http.StatusUnauthorized {
					t.Errorf("without a key: %d", w.Code)
				}
				in.needsScope(o, things)
				in.needsOwnPage(o, things, ownKey)
				if len(o.ids()) == 0 {
					in.tellsNothing(o, things, in.showing(otherKey))
					in.tellsNothing(o, things, in.signedIn(otherKey))
					return
				}
				named++
				in.isNotFound(o, things, otherKey, in.showing(otherKey))
				in.isNotFound(o, things, otherKey, in.signedIn(otherKey))
				if w := in.do(with(ownKey, o.request(t, things))); w.Code >= 400 {
					t.Errorf("its owner gets %d: %.200s; the test shows nothing", w.Code, w.Body)
				}
			})
		}
		if named < 8 {
			t.Errorf("only %d operations name something", named)
		}
	})
}

// in is the same service in a subtest.
func (s *service) in(t *testing.T) *service {
	inner := *s
	inner.t = t
	return &inner
}

// needsScope wants a key of the same organization refused that may do anything
// but this.
func (s *tenants) needsScope(o operation, things map[string]string) {
	s.t.Helper()
	if len(o.need.scopes) == 0 {
		s.t.Error("no scope is needed; say in openapi.yaml which, or what is open to all in openToAll")
		return
	}
	var others []account.Scope
	for _, scope := range account.Scopes {
		if !slices.Contains(o.need.scopes, string(scope)) {
			others = append(others, scope)
		}
	}
	_, key := s.organization(store.Quotas{}, others...)
	if w := s.do(with(key, o.request(s.t.(*testing.T), things))); w.Code != http.StatusForbidden {
		s.t.Errorf("without the scope %v: %d", o.need.scopes, w.Code)
	}
}

// sender sends a request as somebody.
type sender func(*http.Request) *httptest.ResponseRecorder

// showing sends with a key, signedIn from a browser that signed in with it.
func (s *tenants) showing(key string) sender {
	return func(r *http.Request) *httptest.ResponseRecorder { return s.do(with(key, r)) }
}

func (s *tenants) signedIn(key string) sender {
	s.t.Helper()
	b := s.browser(schoolHost, "https://"+schoolHost)
	if w := b.signIn("key", key); w.Code != http.StatusOK {
		s.t.Fatalf("signing in: %d", w.Code)
	}
	return b.send
}

// needsOwnPage wants what changes something refused to a page of another site that makes
// the owner's browser send it, and to one that does not know the token.
func (s *tenants) needsOwnPage(o operation, things map[string]string, key string) {
	s.t.Helper()
	if o.method == http.MethodGet || o.method == http.MethodHead {
		return
	}
	send := s.signedIn(key)
	for _, name := range []string{"Sec-Fetch-Site", tokenHeader} {
		r := o.request(s.t.(*testing.T), things)
		r.Header.Set(name, "cross-site")
		if w := send(r); w.Code != http.StatusForbidden {
			s.t.Errorf("another site sends it, told by %s: %d", name, w.Code)
		}
	}
}

// tellsNothing wants no id of one organization in what another is shown.
func (s *tenants) tellsNothing(o operation, things map[string]string, send sender) {
	s.t.Helper()
	w := send(o.request(s.t.(*testing.T), things))
	for name, id := range things {
		if len(id) > 8 && strings.Contains(w.Body.String(), id) {
			s.t.Errorf("another organization is shown the %s", name)
		}
	}
}

// isNotFound wants a foreign id answered as one that never was: each by itself,
// beneath what is one's own, and all of them.
func (s *tenants) isNotFound(o operation, foreign map[string]string, key string, send sender) {
	s.t.Helper()
	t := s.t.(*testing.T)
	caller, err := s.server.handlers.config.Accounts.Authenticate(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	own := s.things(caller.Organization, key)
	// A number is that of a score in whichever batch the address names, a table one of those
	// that every batch has, a reference and a teacher one in whichever assignment.
	ids := slices.DeleteFunc(o.ids(), func(name string) bool {
		return slices.Contains([]string{"number", "table", "reference", "attempt", "teacher"}, name)
	})
	for _, name := range append(slices.Clone(ids), "") {
		mixed := maps.Clone(own)
		never := maps.Clone(own)
		for _, id := range ids {
			if name == id || name == "" {
				mixed[id] = foreign[id]
				never[id] = strings.Repeat("Z", len(foreign[id]))
			}
		}
		w, stranger := send(o.request(t, mixed)), send(o.request(t, never))
		if w.Code != http.StatusNotFound || stranger.Code != http.StatusNotFound {
			t.Errorf("foreign %s: %d; one that never was: %d", name, w.Code, stranger.Code)
			continue
		}
		if o.method != http.MethodHead && s.problem(w).Detail != s.problem(stranger).Detail {
			t.Errorf("a foreign %s is told from one that never was: %q", name, s.problem(w).Detail)
		}
	}
}

// Whatever a key opens, a browser that is signed in with it does too.
func TestContractNamesBothWaysIn(t *testing.T) {
	for _, o := range operationsOf(t) {
		if o.need.open {
			continue
		}
		requirements := *o.Security
		if len(requirements) != 2 || requirements[1]["session"] == nil || !slices.Equal(requirements[1]["session"], requirements[0][keyScheme]) {
			t.Errorf("%s: openapi.yaml names no session beside the key, or another scope: %v", o.OperationID, requirements)
		}
	}
}

func TestOpenOperationsAreMeantToBe(t *testing.T) {
	var open []string
	for _, o := range operationsOf(t) {
		if o.need.open && !slices.Contains(open, o.OperationID) {
			open = append(open, o.OperationID)
		}
	}
	slices.Sort(open)
	want := slices.Sorted(slices.Values(openToAll))
	if !slices.Equal(open, want) {
		t.Errorf("open to everybody are %v, meant to be are %v", open, want)
	}
}

// An Idempotency-Key counts within an organization: another may choose the same, by
// chance or on purpose, and is told nothing of it.
func TestTheSameIdempotencyKeyOfTwoOrganizations(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{Key: KeyLimits{Burst: 1 << 20, Rate: 1 << 20}})
		_, mine := s.organization(store.Quotas{}, account.Scopes...)
		_, theirs := s.organization(store.Quotas{}, account.Scopes...)
		send := func(key, address, text string) *httptest.ResponseRecorder {
			r := with(key, post(address, text))
			r.Header.Set("Idempotency-Key", `"the-same"`)
			return s.do(r)
		}
		const another = tinyScore + "\n"
		first, other := decode[Batch](t, send(mine, "/v1/batches?open=true", tinyScore)), decode[Batch](t, send(theirs, "/v1/batches?open=true", another))
		if first.ID == "" || other.ID == "" || first.ID == other.ID {
			t.Fatalf("the batches are %q and %q", first.ID, other.ID)
		}
		// Of one's own, the key stands for the first request still.
		if again := decode[Batch](t, send(mine, "/v1/batches?open=true", tinyScore)); again.ID != first.ID {
			t.Errorf("sent again: %q, the first time %q", again.ID, first.ID)
		}
		if w := send(mine, "/v1/batches?open=true", another); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("one's own key with the other's content: %d", w.Code)
		}
		for _, own := range []struct{ key, batch string }{{mine, first.ID}, {theirs, other.ID}} {
			r := with(own.key, post("/v1/batches/"+own.batch+"/scores", tinyScore))
			r.Header.Set("Idempotency-Key", `"of-a-score"`)
			if w := s.do(r); w.Code != http.StatusAccepted || w.Header().Get("Location") != scoreAddress(own.batch, 2) {
				t.Errorf("a score added: %d at %s", w.Code, w.Header().Get("Location"))
			}
		}
	})
}
