package api

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/gradebook"
	"partwright/api/lti/ltitest"
	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// keyOf makes one more key of an organization.
func (s *tenants) keyOf(organization string, scopes ...account.Scope) string {
	s.t.Helper()
	key, _, err := account.CreateKey(s.t.Context(), s.store, account.NewKey{Organization: organization, Scopes: scopes})
	if err != nil {
		s.t.Fatal(err)
	}
	return key
}

// byLink is the browser of a pupil who came by a link to an assignment.
func (s *tenants) byLink(organization, assignment, reference string) sender {
	s.t.Helper()
	session, err := s.server.handlers.config.Accounts.Begin(s.t.Context(), account.NewSession{
		Organization: organization, Role: account.Pupil, Subject: reference, Assignment: assignment, Scopes: []account.Scope{account.HandIns},
	})
	if err != nil {
		s.t.Fatal(err)
	}
	b := s.browser(schoolHost, "https://"+schoolHost)
	b.cookies, b.token = []*http.Cookie{sessionCookie(session.Text, true)}, tokenOf(session.Text)
	return b.send
}

// ofClasses reports whether an operation is about classes.
func (o operation) ofClasses() bool {
	return strings.HasPrefix(o.path, "/v1/assignments") || o.path == "/v1/term"
}

// Whatever the contract lists for one assignment: whoever it is given to, and whoever may see
// all classes, gets an answer; a teacher of the same school, by a key, from a browser or from
// another course of the learning system, and a pupil of another assignment, gets the answer
// that an assignment gets which never was.
func TestTeachersOfOneSchoolAreApart(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		in := &tenants{c.service, c.store}
		own := in.keyOf(c.organization, account.Classes, account.HandIns)
		colleague := in.keyOf(c.organization, account.Classes, account.HandIns)
		theirs := in.assignmentOf(c.organization, in.keyID(colleague))
		_, all := own, in.keyOf(c.organization, account.Classes, account.AllClasses, account.HandIns)
		fromCourse, _ := c.comes("teacher-9", "Instructor", inCourse("course-9", ""))
		pupil, what := c.comes("pupil-4", "Learner", inCourse("course-9", theirs))
		strangers := map[string]sender{
			"a colleague": in.showing(colleague), "a colleague's browser": in.signedIn(colleague),
			"a teacher of another course": in.showing(fromCourse),
		}
		pupils := map[string]sender{"a pupil of another assignment": in.byLink(c.organization, theirs, "p07"), "one from another course": in.showing(pupil)}
		tried, never := 0, strings.Repeat("z", 26)
		for _, o := range operationsOf(t) {
			if !o.ofClasses() {
				continue
			}
			for name, send := range strangers {
				id := in.assignmentOf(c.organization, in.keyID(own))
				things := map[string]string{"assignment": id, "reference": "p07", "attempt": "1", "teacher": in.keyID(own)}
				w := send(o.request(t, things))
				if strings.Contains(w.Body.String(), id) {
					t.Errorf("%s %s: %s is shown the id", o.method, o.path, name)
				}
				if len(o.ids()) == 0 {
					continue
				}
				tried++
				things["assignment"] = never
				stranger := send(o.request(t, things))
				if w.Code != http.StatusNotFound || stranger.Code != http.StatusNotFound || o.method != http.MethodHead && c.problem(w).Detail != c.problem(stranger).Detail {
					t.Errorf("%s %s: %s gets %d, of one that never was %d", o.method, o.path, name, w.Code, stranger.Code)
				}
			}
			if slices.Contains(o.need.scopes, string(account.HandIns)) {
				for name, send := range pupils {
					reference := map[bool]string{true: "p07", false: what.Reference}[strings.HasPrefix(name, "a pupil")]
					things := map[string]string{"assignment": in.assignmentOf(c.organization, in.keyID(own)), "reference": reference, "attempt": "1"}
					if w := send(o.request(t, things)); w.Code != http.StatusNotFound {
						t.Errorf("%s %s: %s gets %d", o.method, o.path, name, w.Code)
					}
					things["assignment"] = theirs
					if w := send(o.request(t, things)); w.Code == http.StatusNotFound && reference == "p07" {
						t.Errorf("%s %s of one's own: %s gets %d", o.method, o.path, name, w.Code)
					}
				}
			}
			if len(o.ids()) == 0 {
				continue
			}
			for name, key := range map[string]string{"its teacher": own, "whoever sees all": all} {
				things := map[string]string{"assignment": in.assignmentOf(c.organization, in.keyID(own), "another"), "reference": "p07", "attempt": "1", "teacher": "another"}
				if w := c.do(with(key, o.request(t, things))); w.Code >= http.StatusBadRequest {
					t.Errorf("%s %s: %s gets %d %.200s; the test shows nothing", o.method, o.path, name, w.Code, w.Body)
				}
			}
		}
		if tried < 60 {
			t.Errorf("only %d requests named another teacher's assignment", tried)
		}
		// In a query, too.
		id := in.assignmentOf(c.organization, in.keyID(own))
		for name, send := range strangers {
			if w := send(get("/v1/term?assignments=" + id)); w.Code != http.StatusNotFound {
				t.Errorf("the term of another's: %s gets %d", name, w.Code)
			}
		}
	})
}

// An assignment is its maker's, goes to others by name, and is nobody's only where it was so
// from the beginning.
func TestGivingAssignments(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		colleague := s.keyOf(s.organization, account.Classes)
		address := s.address + "/teachers"
		teachers := func() []string {
			t.Helper()
			return decode[TeacherList](t, s.teaches(http.MethodGet, address, "")).Teachers
		}
		if !slices.Equal(teachers(), []string{s.keyID(s.teacher)}) {
			t.Errorf("made, it is given to %v", teachers())
		}
		finds := func(key string) bool {
			t.Helper()
			list := decode[AssignmentList](t, s.do(with(key, get("/v1/assignments")))).Assignments
			found := slices.ContainsFunc(list, func(a classroom.Assignment) bool { return a.ID == s.assignment.ID })
			if w := s.do(with(key, get(s.address))); (w.Code == http.StatusOK) != found {
				t.Errorf("it is in the list: %t, and asked for: %d", found, w.Code)
			}
			return found
		}
		if finds(colleague) || !finds(s.teacher) {
			t.Error("made, a colleague finds it, or its maker does not")
		}
		for _, step := range []struct {
			method, teacher string
			want            int
			colleague       bool
		}{
			{http.MethodDelete, s.keyID(s.teacher), http.StatusConflict, false},
			{http.MethodDelete, "nobody", http.StatusNotFound, false},
			{http.MethodPut, s.keyID(colleague), http.StatusNoContent, true},
			{http.MethodPut, s.keyID(colleague), http.StatusNoContent, true},
			{http.MethodDelete, s.keyID(colleague), http.StatusNoContent, false},
			{http.MethodPut, strings.Repeat("x", classbook.MaxReference+1), http.StatusBadRequest, false},
			{http.MethodPut, "a%0Ab", http.StatusBadRequest, false},
		} {
			if w := s.teaches(step.method, address+"/"+step.teacher, ""); w.Code != step.want || finds(colleague) != step.colleague {
				t.Errorf("%s %s: %d %s", step.method, step.teacher, w.Code, w.Body)
			}
		}
		// One for everybody stays with whoever gives it to somebody.
		s.assignment = &classroom.Assignment{ID: s.assignmentOf(s.organization)}
		s.address = "/v1/assignments/" + s.assignment.ID
		address = s.address + "/teachers"
		third := s.keyOf(s.organization, account.Classes)
		if !finds(colleague) || !finds(third) || len(teachers()) != 0 {
			t.Errorf("given to nobody, it is not everybody's: %v", teachers())
		}
		if w := s.teaches(http.MethodPut, address+"/"+s.keyID(colleague), ""); w.Code != http.StatusNoContent || !finds(s.teacher) || !finds(colleague) || finds(third) {
			t.Errorf("given: %d, to %v", w.Code, teachers())
		}
	})
}

// inCourse is a launch in a course, by a link of its own that names an assignment, "" for
// none.
func inCourse(course, assignment string) func(jwt.MapClaims) {
	return func(m jwt.MapClaims) {
		m[ltitest.Claim+"context"] = map[string]any{"id": course}
		m[ltitest.Claim+"resource_link"] = map[string]any{"id": "link of " + course}
		if assignment != "" {
			m[ltitest.Claim+"custom"] = map[string]any{"assignment": assignment}
		}
	}
}

// Teachers who come from a learning system share what is set in their course. Naming the
// assignment of another course in a link opens nothing to a teacher; choosing one's own for
// another course opens it there.
func TestTeachersOfCourses(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		teacher, what := c.comes("teacher-1", "Instructor", inCourse("one", ""))
		if what.View != "classes" || len(what.TeachesAs) != 2 || what.TeachesAs[0] != gradebook.ReferenceOf(c.registration.ID, "teacher-1") {
			t.Errorf("the page is told %+v", what)
		}
		w := c.as(teacher, body(http.MethodPost, "/v1/assignments", `{"title":"Quiz","task":"C: I V I"}`))
		a := decode[classroom.Assignment](t, w)
		if w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		sees := func(who, secret string, want bool) {
			t.Helper()
			list := decode[AssignmentList](t, c.as(secret, get("/v1/assignments"))).Assignments
			if w := c.as(secret, get("/v1/assignments/"+a.ID)); (len(list) == 1) != want || (w.Code == http.StatusOK) != want {
				t.Errorf("%s: %d in the list, %d", who, len(list), w.Code)
			}
		}
		sees("its teacher", teacher, true)
		beside, what := c.comes("teacher-2", "Instructor", inCourse("one", a.ID))
		if what.View != "class" || what.Assignment != a.ID {
			t.Errorf("beside them in the course, the page is told %+v", what)
		}
		sees("a teacher of the same course", beside, true)
		away, what := c.comes("teacher-2", "Instructor", inCourse("two", a.ID))
		if what.View != "classes" || what.Assignment != "" {
			t.Errorf("in another course, the page is told %+v", what)
		}
		sees("the same teacher in another course", away, false)
		if w, text := c.browse(http.MethodPost, "/lti/bind", url.Values{"session": {away}, "assignment": {a.ID}}); w.StatusCode != http.StatusNotFound {
			t.Errorf("binding another's: %d %s", w.StatusCode, text)
		}
		chooses := func(m jwt.MapClaims) {
			inCourse("two", "")(m)
			m[ltitest.Claim+"message_type"] = "LtiDeepLinkingRequest"
			m[ltitest.ClaimDL+"deep_linking_settings"] = map[string]any{
				"deep_link_return_url": c.platform.URL() + "/chosen", "accept_types": []string{"ltiResourceLink"}, "accept_presentation_document_targets": []string{"iframe"},
			}
		}
		choosing, _ := c.comes("teacher-2", "Instructor", chooses)
		if w, text := c.browse(http.MethodPost, "/lti/deep-link", url.Values{"session": {choosing}, "assignment": {a.ID}}); w.StatusCode != http.StatusNotFound {
			t.Errorf("choosing another's: %d %s", w.StatusCode, text)
		}
		sees("after trying", away, false)

		choosing, _ = c.comes("teacher-1", "Instructor", chooses)
		if w, text := c.browse(http.MethodPost, "/lti/deep-link", url.Values{"session": {choosing}, "assignment": {a.ID}}); w.StatusCode != http.StatusOK {
			t.Errorf("choosing one's own: %d %s", w.StatusCode, text)
		}
		sees("once its teacher has chosen it for that course", away, true)
		if _, what = c.comes("teacher-2", "Instructor", inCourse("two", a.ID)); what.View != "class" || what.Assignment != a.ID {
			t.Errorf("then the page is told %+v", what)
		}
		third, _ := c.comes("teacher-3", "Instructor", inCourse("three", ""))
		sees("a teacher of a third course", third, false)
		mine, _ := c.comes("teacher-1", "Instructor", inCourse("three", ""))
		if w, text := c.browse(http.MethodPost, "/lti/bind", url.Values{"session": {mine}, "assignment": {a.ID}}); w.StatusCode != http.StatusNoContent {
			t.Errorf("binding one's own: %d %s", w.StatusCode, text)
		}
		sees("once its teacher has bound a link there", third, true)
		if list := decode[TeacherList](t, c.as(teacher, get("/v1/assignments/"+a.ID+"/teachers"))).Teachers; len(list) != 4 {
			t.Errorf("it is given to %v", list)
		}
	})
}

// A link lets a pupil in to its assignment alone.
func TestLinkIsForItsAssignment(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		link := decode[HandInLink](t, s.teaches(http.MethodPost, s.address+"/references/p07/links", "")).Link
		pupil := s.browser(schoolHost, "https://"+schoolHost)
		if w := pupil.signIn("link", link); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
		other := s.assignmentOf(s.organization)
		for id, want := range map[string]int{s.assignment.ID: http.StatusOK, other: http.StatusNotFound} {
			if w := pupil.send(get(fmt.Sprintf("/v1/assignments/%s/references/p07", id))); w.Code != want {
				t.Errorf("%d, want %d", w.Code, want)
			}
		}
	})
}
