package api

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"partwright/api/lti"
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
		router.Handle(method, lti.LoginPath, ltiRoute(tool.Login))
	}
	router.POST(lti.LaunchPath, ltiRoute(tool.Launch))
	router.GET(lti.RegisterPath, ltiRoute(tool.Register))
	router.GET(lti.KeysPath, h.ltiKeys)
	router.GET("/lti/launched", h.ltiLaunched)
	router.POST("/lti/deep-link", ltiRoute(func(w http.ResponseWriter, r *http.Request) error { return choose(tool, w, r) }))
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

// launched is what a page may know of the launch that opened it: nothing of a person.
type launched struct {
	Kind    lti.Kind          `json:"kind"`
	Teacher bool              `json:"teacher"`
	Pupil   bool              `json:"pupil"`
	Title   string            `json:"title,omitempty"`
	Locale  string            `json:"locale,omitempty"`
	Custom  map[string]string `json:"custom,omitempty"`
	Return  string            `json:"return,omitempty"`
	// Names and Grades tell whether the learning system lists members and takes marks.
	Names  bool `json:"names"`
	Grades bool `json:"grades"`
}

// ltiLaunched tells what was launched to whoever has the secret of its session, as a
// bearer token (RFC 6750, 2.1).
func (h *handlers) ltiLaunched(c *gin.Context) {
	secret, found := strings.CutPrefix(c.GetHeader("Authorization"), "Bearer ")
	if !found {
		secret = ""
	}
	_, m, err := h.config.LTI.Launched(c.Request.Context(), secret)
	if err != nil {
		if errors.Is(err, lti.NoSession) {
			c.Header("WWW-Authenticate", `Bearer realm="partwright"`)
		}
		fail(c, err)
		return
	}
	body, err := encodeJSON(launched{m.Kind, m.Teacher(), m.Pupil(), m.Title, m.Locale, m.Custom, m.Return, m.Names != nil, m.Grades != nil})
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Content-Type", typeJSON)
	h.write(c, http.StatusOK, body)
}

// choose answers deep linking with one link, or none where there is no title: a form with
// the secret of the session, a title, and what the link comes back with.
func choose(tool *lti.Tool, w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxChoice)
	if err := r.ParseForm(); err != nil {
		return refuse(malformedForm, "The form cannot be read.")
	}
	registration, m, err := tool.Launched(r.Context(), r.PostForm.Get("session"))
	if err != nil {
		return err
	}
	title := r.PostForm.Get("title")
	if title == "" {
		return tool.Choose(w, r, registration, m)
	}
	item := lti.Item{Title: title, Text: r.PostForm.Get("text"), Resource: r.PostForm.Get("assignment")}
	if item.Resource != "" {
		item.Custom = map[string]string{"assignment": item.Resource}
	}
	if text := r.PostForm.Get("points"); text != "" {
		item.Points, err = strconv.ParseFloat(text, 64)
		if err != nil || !(item.Points > 0 && item.Points <= mostPoints) {
			return refuse(invalidRequest, fmt.Sprintf("The field points is no number of more than 0 and at most %d.", mostPoints))
		}
	}
	return tool.Choose(w, r, registration, m, item)
}
