package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
	"partwright/worker/store"
)

// sets makes an assignment worth 20 points, with the class's hand-ins for it.
func (c *lmsCourse) sets() (*classroom.Assignment, map[string][]byte) {
	c.t.Helper()
	a := &classroom.Assignment{Title: "Second quiz", Points: 40, Closes: time.Now().Add(time.Hour)} // half points
	if err := c.classes.Create(c.t.Context(), c.organization, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass}); err != nil {
		c.t.Fatal(err)
	}
	scores, err := classtest.HandIns(a)
	if err != nil {
		c.t.Fatal(err)
	}
	return a, scores
}

// launches comes by a link as somebody, and returns how the service answers.
func (c *lmsCourse) launches(subject, role string, change func(jwt.MapClaims)) (*http.Response, string) {
	c.t.Helper()
	login := c.login()
	claims := c.platform.Launch(login, c.base+"/", ltitest.Membership+role)
	claims["sub"] = subject
	delete(claims, ltitest.Claim+"custom")
	if change != nil {
		change(claims)
	}
	return c.browse(http.MethodPost, lti.LaunchPath, url.Values{"state": {login.Get("state")}, "id_token": {c.platform.Sign(claims)}})
}

// comes is let in, and returns the secret and what the page is told.
func (c *lmsCourse) comes(subject, role string, change func(jwt.MapClaims)) (secret string, what launched) {
	c.t.Helper()
	w, text := c.launches(subject, role, change)
	_, secret, found := strings.Cut(w.Header.Get("Location"), "/#lti=")
	if w.StatusCode != http.StatusSeeOther || !found {
		c.t.Fatalf("%s is answered %d %s", subject, w.StatusCode, text)
	}
	w, text = c.browse(http.MethodGet, "/lti/launched", nil, "Authorization", "Bearer "+secret)
	if err := json.Unmarshal([]byte(text), &what); err != nil || w.StatusCode != http.StatusOK {
		c.t.Fatalf("%d %s", w.StatusCode, text)
	}
	return secret, what
}

// linkTo is a link that names an assignment.
func linkTo(a *classroom.Assignment) func(jwt.MapClaims) {
	return func(m jwt.MapClaims) { m[ltitest.Claim+"custom"] = map[string]any{"assignment": a.ID} }
}

func (c *lmsCourse) as(secret string, r *http.Request) *httptest.ResponseRecorder {
	return c.do(with(secret, r))
}

// has waits until the learning system has so many scores, and says what they are.
func (c *lmsCourse) has(n int) (lines []string) {
	c.t.Helper()
	for until := time.Now().Add(20 * time.Second); len(c.platform.Scores()) < n; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(until) {
			c.t.Fatalf("the learning system has %d scores, want %d", len(c.platform.Scores()), n)
		}
	}
	for _, s := range c.platform.Scores() {
		line := s.Pupil + " " + s.Grading
		if s.Given != nil {
			line += fmt.Sprintf(" %g/%g", *s.Given, *s.Maximum)
		}
		lines = append(lines, line)
	}
	return lines
}

// A teacher chooses an assignment, pupils come by its link and hand in, the teacher comes to
// the class, and marks go into the gradebook: pending until they are released, whole after,
// pending again once taken back.
func TestMarksGoIntoTheGradebook(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		a, scores := c.sets()
		deep, what := c.comes("teacher-1", "Instructor", func(m jwt.MapClaims) {
			m[ltitest.Claim+"message_type"] = "LtiDeepLinkingRequest"
			m[ltitest.ClaimDL+"deep_linking_settings"] = map[string]any{
				"deep_link_return_url": c.platform.URL() + "/chosen", "accept_types": []string{"ltiResourceLink"}, "accept_presentation_document_targets": []string{"iframe"},
			}
		})
		if what.Kind != lti.DeepLinking || what.View != "classes" {
			t.Errorf("to choose, the page is told %+v", what)
		}
		_, text := c.browse(http.MethodPost, "/lti/deep-link", url.Values{"session": {deep}, "assignment": {a.ID}})
		_, after, _ := strings.Cut(text, `name="JWT" value="`)
		token, _, _ := strings.Cut(after, `"`)
		answer, err := c.platform.Verify(token)
		chosen, _ := json.Marshal(answer[ltitest.ClaimDL+"content_items"])
		for _, want := range []string{`"custom":{"assignment":"` + a.ID + `"}`, `"scoreMaximum":20`, `"resourceId":"` + a.ID + `"`, `"title":"Second quiz"`, `"endDateTime"`} {
			if err != nil || !strings.Contains(string(chosen), want) {
				t.Errorf("what was chosen lacks %s: %s, %v", want, chosen, err)
			}
		}

		pupil, what := c.comes("pupil-4", "Learner", linkTo(a))
		mine := gradebook.ReferenceOf(c.registration.ID, "pupil-4")
		if what.View != "assignment" || what.Assignment != a.ID || what.Reference != mine || strings.Contains(mine, "pupil-4") {
			t.Errorf("a pupil's page is told %+v", what)
		}
		address := "/v1/assignments/" + a.ID
		handsIn := func(secret, reference, name string) int {
			return c.as(secret, post(address+"/references/"+reference+"/hand-ins", string(scores[name]))).Code
		}
		if code := handsIn(pupil, mine, "p04"); code != http.StatusCreated {
			t.Fatalf("handing in: %d", code)
		}
		empty, what := c.comes("pupil-24", "Learner", linkTo(a))
		if code := handsIn(empty, what.Reference, "p24"); code != http.StatusCreated {
			t.Fatalf("handing in: %d", code)
		}
		if code := handsIn(empty, mine, "p24"); code != http.StatusNotFound {
			t.Errorf("handing in for another: %d", code)
		}
		teacher, what := c.comes("teacher-1", "Instructor", linkTo(a))
		if what.View != "class" || what.Assignment != a.ID || what.Reference != "" {
			t.Errorf("a teacher's page is told %+v", what)
		}
		if w := c.as(pupil, get(address+"/report")); w.Code != http.StatusForbidden {
			t.Errorf("a pupil reads the report: %d", w.Code)
		}
		decide := func(text string) {
			t.Helper()
			if w := c.as(teacher, body(http.MethodPost, address+"/decisions", text)); w.Code != http.StatusCreated {
				t.Fatalf("%s: %d %s", text, w.Code, w.Body)
			}
		}
		// Marks of different pupils are sent by different workers, in any order.
		if got := c.has(2); !slices.Equal(slices.Sorted(slices.Values(got)), []string{"pupil-24 PendingManual", "pupil-4 PendingManual"}) {
			t.Errorf("after handing in: %q", got)
		}
		their := gradebook.ReferenceOf(c.registration.ID, "pupil-24")
		decide(`{"do":"set-mark","reference":"` + their + `","mark":0,"text":"nothing was written"}`)
		decide(`{"do":"release"}`)
		want := []string{"pupil-24 FullyGraded 0/20", "pupil-4 FullyGraded 19.5/20"}
		if got := c.has(4)[2:]; !slices.Contains(got, want[0]) || !slices.Contains(got, want[1]) {
			t.Errorf("after the release: %q, want %q", got, want)
		}
		for _, s := range c.platform.Scores() {
			if s.Pupil == "pupil-24" && s.Comment != nil && !strings.Contains(*s.Comment, "nothing was written") {
				t.Errorf("the comment is %q", *s.Comment)
			}
		}
		decide(`{"do":"release"}`) // nothing new
		decide(`{"do":"set-mark","reference":"` + mine + `","mark":12.5}`)
		if got := c.has(5)[4]; got != "pupil-4 FullyGraded 12.5/20" {
			t.Errorf("after a mark was changed: %q", got)
		}
		c.platform.Enter("pupil-4", 18, 20)
		var list []gradebook.Entry
		settled := func() bool { // that it came through is written down a moment later
			list = decode[GradebookList](t, c.as(teacher, get(address+"/gradebook"))).Entries
			return !slices.ContainsFunc(list, func(e gradebook.Entry) bool { return e.State == "waiting" })
		}
		for until := time.Now().Add(20 * time.Second); !settled() && time.Now().Before(until); time.Sleep(5 * time.Millisecond) {
		}
		for _, e := range list {
			if !e.Known || e.Overwrites != (e.Reference == mine) || e.State != "published" || e.Overwrites && (*e.Stands != 18 || *e.Sent != 12.5) {
				t.Errorf("the gradebook: %+v", e)
			}
		}
		decide(`{"do":"take-back","reference":"` + mine + `"}`)
		if got := c.has(6)[5]; got != "pupil-4 PendingManual" || len(list) != 2 {
			t.Errorf("taken back: %q, %d entries", got, len(list))
		}
		if w := c.as(teacher, httptest.NewRequest(http.MethodDelete, address+"/references/"+mine, nil)); w.Code != http.StatusNoContent {
			t.Errorf("forgetting: %d", w.Code)
		}
		if list = decode[GradebookList](t, c.as(teacher, get(address+"/gradebook"))).Entries; len(list) != 1 {
			t.Errorf("after forgetting one: %+v", list)
		}
		if posts, repeats := c.platform.Posts(); posts != 6 || repeats != 0 {
			t.Errorf("%d posts, %d repeats", posts, repeats)
		}
		for _, secret := range []string{pupil, teacher, "pupil-4", mine} {
			if strings.Contains(c.log.String(), secret) {
				t.Errorf("the log holds %q", secret)
			}
		}
	})
}

// A link that names no assignment is bound by its teacher, once; until then a pupil is told
// so.
func TestLinkIsBoundByItsTeacher(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		a, _ := c.sets()
		if w, text := c.launches("pupil-4", "Learner", nil); w.StatusCode != http.StatusConflict || !strings.Contains(text, "lti-nothing-set") {
			t.Errorf("before: %d %s", w.StatusCode, text)
		}
		teacher, what := c.comes("teacher-1", "Instructor", nil)
		if what.View != "classes" || what.Assignment != "" {
			t.Errorf("the page is told %+v", what)
		}
		for id, status := range map[string]int{"nothing": http.StatusNotFound, a.ID: http.StatusNoContent} {
			if w, text := c.browse(http.MethodPost, "/lti/bind", url.Values{"session": {teacher}, "assignment": {id}}); w.StatusCode != status {
				t.Errorf("binding %s: %d %s", id, w.StatusCode, text)
			}
		}
		_, what = c.comes("teacher-1", "Instructor", nil)
		if what.View != "class" || what.Assignment != a.ID {
			t.Errorf("bound, the page is told %+v", what)
		}
		pupil, what := c.comes("pupil-4", "Learner", nil)
		if what.View != "assignment" || what.Assignment != a.ID {
			t.Errorf("bound, a pupil's page is told %+v", what)
		}
		if w, _ := c.browse(http.MethodPost, "/lti/bind", url.Values{"session": {pupil}, "assignment": {a.ID}}); w.StatusCode != http.StatusForbidden {
			t.Errorf("a pupil binds: %d", w.StatusCode)
		}
		w, _ := c.browse(http.MethodGet, "/", nil)
		if policy := w.Header.Get("Content-Security-Policy"); !strings.Contains(policy, "frame-ancestors "+c.platform.URL()) {
			t.Errorf("the page is framed by %s", policy)
		}
		c.platform.Members = []map[string]any{
			{"user_id": "pupil-4", "roles": []string{ltitest.Membership + "Learner"}, "name": "P 4", "status": "Active"},
			{"user_id": "teacher-1", "roles": []string{ltitest.Membership + "Instructor"}},
		}
		var list struct{ Members []gradebook.Member }
		if _, text := c.browse(http.MethodGet, "/lti/members", nil, "Authorization", "Bearer "+teacher); json.Unmarshal([]byte(text), &list) != nil ||
			len(list.Members) != 2 || list.Members[0].Reference != what.Reference || list.Members[0].Name != "P 4" || !list.Members[0].Pupil || list.Members[1].Pupil {
			t.Errorf("members: %s", text)
		}
		if w, _ := c.browse(http.MethodGet, "/lti/members", nil, "Authorization", "Bearer "+pupil); w.StatusCode != http.StatusForbidden {
			t.Errorf("a pupil lists members: %d", w.StatusCode)
		}
		nobody, _ := c.comes("somebody", "Mentor", nil)
		if w := c.as(nobody, get("/v1/assignments/"+a.ID+"/exercise")); w.Code != http.StatusForbidden {
			t.Errorf("who neither teaches nor learns reads the sheet: %d", w.Code)
		}
		if w := c.as(lti.SecretPrefix+"nonsense", get("/v1/assignments")); w.Code != http.StatusUnauthorized {
			t.Errorf("a secret that is none: %d", w.Code)
		}
		if w, _ := c.browse(http.MethodDelete, "/lti/launched", nil, "Authorization", "Bearer "+teacher); w.StatusCode != http.StatusNoContent {
			t.Errorf("ending a launch: %d", w.StatusCode)
		}
		if w := c.as(teacher, get("/v1/assignments")); w.Code != http.StatusUnauthorized {
			t.Errorf("a launch that was ended: %d", w.Code)
		}
		if w := c.as(pupil, get("/v1/assignments/"+a.ID+"/exercise")); w.Code != http.StatusOK {
			t.Errorf("the launch of another: %d", w.Code)
		}
	})
}

// Logins that come too fast are turned away before anything is written.
func TestLoginsArePaced(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		c.server.handlers.logins.SetBurst(2)
		c.server.handlers.logins.SetLimit(0.01)
		form := url.Values{"iss": {c.platform.URL()}, "login_hint": {"1"}, "target_link_uri": {c.base + "/"}}
		for i, want := range []int{http.StatusFound, http.StatusFound, http.StatusTooManyRequests} {
			if w, text := c.browse(http.MethodPost, lti.LoginPath, form); w.StatusCode != want || (want == http.StatusTooManyRequests) != (w.Header.Get("Retry-After") != "") {
				t.Errorf("login %d: %d %s", i+1, w.StatusCode, text)
			}
		}
	})
}

// Whoever comes from a learning system, teacher or pupil, finds nothing of another
// organization by any operation of the contract, and does nothing that their role may not.
func TestLaunchesFindNothingOfOthers(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		a, _ := c.sets()
		in := &tenants{c.service, c.store}
		other, _ := in.organization(store.Quotas{}, account.Scopes...)
		foreign := in.assignmentOf(other)
		teacher, _ := c.comes("teacher-1", "Instructor", linkTo(a))
		pupil, what := c.comes("pupil-4", "Learner", linkTo(a))
		nobody, _ := c.comes("somebody", "Mentor", linkTo(a))
		tried := 0
		for _, o := range operationsOf(t) {
			if o.need.open {
				continue
			}
			for _, who := range []struct {
				name, secret string
				scopes       []account.Scope
			}{{"teacher", teacher, []account.Scope{account.Classes, account.HandIns}}, {"pupil", pupil, []account.Scope{account.HandIns}}, {"neither", nobody, nil}} {
				may := slices.ContainsFunc(who.scopes, func(s account.Scope) bool { return slices.Contains(o.need.scopes, string(s)) })
				for _, reference := range []string{what.Reference, "p07"} {
					ids := map[string]string{"assignment": foreign, "reference": reference, "attempt": "1", "webhook": "A", "delivery": "A", "batch": "A", "number": "1", "teacher": "x", "table": "findings"}
					w := c.as(who.secret, o.request(t, ids))
					switch {
					case !may && w.Code != http.StatusForbidden:
						t.Errorf("%s %s: a %s gets %d", o.method, o.path, who.name, w.Code)
					case may && slices.Contains(o.ids(), "assignment"):
						if tried++; w.Code != http.StatusNotFound {
							t.Errorf("%s %s of another organization: a %s gets %d", o.method, o.path, who.name, w.Code)
						}
					}
					if strings.Contains(w.Body.String(), foreign) {
						t.Errorf("%s %s: a %s is shown the id of another's assignment", o.method, o.path, who.name)
					}
				}
			}
		}
		if tried < 40 {
			t.Errorf("only %d requests named another's assignment", tried)
		}
	})
}
