package api

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/worker/account"
)

// maxChoice bounds the form of what was chosen in deep linking; mostPoints are the most
// that may be had for it.
const (
	maxChoice  = 16 << 10
	mostPoints = 10_000
)

// ltiKinds are the problems of learning systems.
var ltiKinds = func() (all []*kind) {
	for _, p := range lti.Problems() {
		all = append(all, &kind{p.Code, p.Status, p.Title, p.Meaning, p.Advice})
	}
	return all
}()

// ltiProblem says what a refusal by the tool's side of LTI means for a client.
func ltiProblem(err error) (Problem, bool) {
	refused, ok := errors.AsType[*lti.Refusal](err)
	if !ok {
		return Problem{}, false
	}
	k, _ := kindByCode(refused.Code)
	return newProblem(k, refused.Detail), true
}

// ltiRoutes are those of learning systems, where the service has a name for them. Their
// shape is 1EdTech's, and browsers and learning systems call them: they stand in no
// contract of ours, and no key opens them.
func (h *handlers) ltiRoutes(router *gin.Engine) {
	tool := h.config.LTI
	if tool == nil {
		return
	}
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		router.Handle(method, lti.LoginPath, ltiRoute(h.paced(tool.Login)))
	}
	router.POST(lti.LaunchPath, ltiRoute(tool.Launch))
	router.GET(lti.RegisterPath, ltiRoute(tool.Register))
	router.GET(lti.KeysPath, h.ltiKeys)
	router.GET("/lti/launched", h.ltiLaunched)
	router.DELETE("/lti/launched", h.ltiEnd)
	router.POST("/lti/deep-link", ltiRoute(h.choose))
	router.POST("/lti/bind", ltiRoute(h.bindLink))
	router.GET("/lti/members", h.ltiMembers)
}

// Logins taken in one process: each writes a row. They are counted of all together, since
// nothing here looks at addresses.
const (
	loginsASecond = 20
	loginsAtOnce  = 200
)

// paced turns logins away that come too fast.
func (h *handlers) paced(answer func(http.ResponseWriter, *http.Request) error) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		if now := time.Now(); !h.logins.AllowN(now, 1) {
			return &refusal{kind: tooManySignIns, header: retryIn(until(h.logins, now))}
		}
		return answer(w, r)
	}
}

// ltiRoute answers a person in a browser, who sees a refusal as a page, or a program, which
// gets the problem document.
func ltiRoute(answer func(http.ResponseWriter, *http.Request) error) gin.HandlerFunc {
	return func(c *gin.Context) {
		err := answer(c.Writer, c.Request)
		if err == nil {
			return
		}
		fail(c, err)
		if p, ok := ltiProblem(err); ok && strings.Contains(c.GetHeader("Accept"), "text/html") {
			// What cannot be written any more went to a client that left.
			_ = lti.WriteProblem(c.Writer, p.Status, p.Title, p.Detail, p.Advice)
		}
	}
}

// ltiKeys serves our public keys. They change seldom, and a new one is served a day before
// it signs.
func (h *handlers) ltiKeys(c *gin.Context) {
	set, err := h.config.LTI.KeySet(c.Request.Context())
	if err != nil {
		fail(c, err)
		return
	}
	body, err := encodeJSON(set)
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Content-Type", typeJSON)
	c.Header("Cache-Control", "public, max-age=3600")
	h.write(c, http.StatusOK, body)
}

// launched is what a page may know of the launch that opened it: nothing of a person but
// the reference of a pupil, which is ours.
type launched struct {
	Kind lti.Kind `json:"kind"`
	// View is what to open, Assignment of which one; "" for none.
	View       string `json:"view"`
	Assignment string `json:"assignment,omitempty"`
	Reference  string `json:"reference,omitempty"`
	Teacher    bool   `json:"teacher"`
	Pupil      bool   `json:"pupil"`
	// TeachesAs lists by what texts assignments are given to a teacher.
	TeachesAs []string          `json:"teaches_as,omitempty"`
	Title     string            `json:"title,omitempty"`
	Locale    string            `json:"locale,omitempty"`
	Custom    map[string]string `json:"custom,omitempty"`
	Return    string            `json:"return,omitempty"`
	// Names and Grades tell whether the learning system lists members and takes marks.
	Names  bool `json:"names"`
	Grades bool `json:"grades"`
}

// What a launch opens.
const (
	viewClass      = "class"
	viewClasses    = "classes"
	viewAssignment = "assignment"
)

// whoLaunched finds what was launched by whoever has the secret of its session, as a bearer
// token (RFC 6750, 2.1).
func (h *handlers) whoLaunched(c *gin.Context) (*lti.Registration, *lti.Message, error) {
	secret, found := strings.CutPrefix(c.GetHeader("Authorization"), "Bearer ")
	if !found {
		secret = ""
	}
	r, m, err := h.config.LTI.Launched(c.Request.Context(), secret)
	if errors.Is(err, lti.NoSession) {
		c.Header("WWW-Authenticate", challenge("").Get("WWW-Authenticate"))
	}
	return r, m, err
}

// ltiLaunched tells what was launched.
func (h *handlers) ltiLaunched(c *gin.Context) {
	r, m, err := h.whoLaunched(c)
	if err != nil {
		fail(c, err)
		return
	}
	view := launched{
		Kind: m.Kind, View: viewClasses, Assignment: m.Assignment, Teacher: m.Teacher(), Pupil: m.Pupil(), Title: m.Title, Locale: m.Locale,
		Custom: m.Custom, Return: m.Return, Names: m.Names != nil, Grades: m.Grades != nil,
	}
	if view.Assignment == "" && m.Kind == lti.Launch && h.config.Gradebook != nil {
		// A teacher may have said since what the link is for.
		a, err := h.config.Gradebook.Assignment(c.Request.Context(), r, m)
		if err != nil {
			fail(c, err)
			return
		}
		if a != nil {
			view.Assignment = a.ID
		}
	}
	if view.Teacher {
		view.TeachesAs = gradebook.TeachesAs(m)
	}
	switch {
	case !view.Teacher && view.Pupil:
		view.View, view.Reference = viewAssignment, m.Reference
	case view.Assignment != "":
		view.View = viewClass
	}
	h.writeJSON(c, view)
}

// ltiEnd ends the session of whoever asks. One that has ended is no error.
func (h *handlers) ltiEnd(c *gin.Context) {
	secret, _ := strings.CutPrefix(c.GetHeader("Authorization"), "Bearer ")
	if err := h.config.LTI.End(c.Request.Context(), secret); err != nil {
		fail(c, err)
		return
	}
	c.Status(http.StatusNoContent)
	c.Writer.WriteHeaderNow()
}

// ltiMembers lists the members of a teacher's course.
func (h *handlers) ltiMembers(c *gin.Context) {
	r, m, err := h.whoLaunched(c)
	if err != nil {
		fail(c, err)
		return
	}
	members, err := h.config.Gradebook.Members(c.Request.Context(), r, m)
	if err != nil {
		fail(c, err)
		return
	}
	h.writeJSON(c, map[string]any{"members": members})
}

// launchedForm reads a form with the secret of a session.
func (h *handlers) launchedForm(w http.ResponseWriter, r *http.Request) (*lti.Registration, *lti.Message, error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxChoice)
	if err := r.ParseForm(); err != nil {
		return nil, nil, refuse(malformedForm, "The form cannot be read.")
	}
	return h.config.LTI.Launched(r.Context(), r.PostForm.Get("session"))
}

// bindLink says for which assignment the link is that a teacher followed.
func (h *handlers) bindLink(w http.ResponseWriter, r *http.Request) error {
	registration, m, err := h.launchedForm(w, r)
	if err != nil {
		return err
	}
	if err := h.config.Gradebook.Bind(r.Context(), registration, m, r.PostForm.Get("assignment")); err != nil {
		return inClasses.of(err)
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// choose answers deep linking with one link to an assignment, or to something with a title;
// or with none.
func (h *handlers) choose(w http.ResponseWriter, r *http.Request) error {
	tool := h.config.LTI
	registration, m, err := h.launchedForm(w, r)
	if err != nil {
		return err
	}
	title, assignment := r.PostForm.Get("title"), r.PostForm.Get("assignment")
	if title == "" && assignment == "" {
		return tool.Choose(w, r, registration, m)
	}
	item := lti.Item{}
	if assignment != "" {
		if item, err = h.config.Gradebook.Item(r.Context(), registration, m, assignment); err != nil {
			return inClasses.of(err)
		}
	}
	if title != "" {
		item.Title = title
	}
	item.Text = r.PostForm.Get("text")
	if text := r.PostForm.Get("points"); text != "" {
		item.Points, err = strconv.ParseFloat(text, 64)
		if err != nil || !(item.Points > 0 && item.Points <= mostPoints) {
			return refuse(invalidRequest, fmt.Sprintf("The field points is no number of more than 0 and at most %d.", mostPoints))
		}
	}
	return tool.Choose(w, r, registration, m, item)
}

// launchedCaller is who came from a learning system with the secret of a launch.
func (h *handlers) launchedCaller(r *http.Request) (caller account.Caller, found bool, err error) {
	scheme, text, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	text = strings.TrimSpace(text)
	if h.config.LTI == nil || !strings.EqualFold(scheme, "bearer") || !strings.HasPrefix(text, lti.SecretPrefix) {
		return caller, false, nil
	}
	registration, m, err := h.config.LTI.Launched(r.Context(), text)
	switch {
	case errors.Is(err, lti.NoSession):
		return caller, true, &refusal{kind: sessionEnded, header: challenge(`error="invalid_token"`)}
	case err != nil:
		return caller, true, err
	case m.Teacher():
		caller = account.Person(registration.Organization, account.Teacher, m.Reference, account.Classes, account.HandIns)
		caller.Course = gradebook.CourseOf(m)
		return caller, true, nil
	case m.Pupil() && m.Reference != "":
		caller = account.Person(registration.Organization, account.Pupil, m.Reference, account.HandIns)
		caller.Assignment = m.Assignment
		return caller, true, nil
	}
	return account.Person(registration.Organization, account.Pupil, m.Reference), true, nil
}
