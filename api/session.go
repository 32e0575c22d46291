package api

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/account"
	"partwright/worker/store"
)

// Names of the cookie of a browser that is signed in. The prefix binds it to this host over
// https (RFC 6265bis, 4.1.3.2); a browser on this machine, without TLS, gets the plain one.
const (
	secureCookie = "__Host-" + plainCookie
	plainCookie  = "partwright_session"
)

// tokenHeader carries what only a page of our own can have read.
const tokenHeader = "X-CSRF-Token" // #nosec G101 -- the name of a header

// Sign-ins taken in one process. They are counted of all clients together, since nothing
// here looks at addresses.
const (
	signInsASecond = 20
	signInsAtOnce  = 100
)

// GetSession serves GET /v1/session.
func (h *handlers) GetSession(c *gin.Context) {
	view := Session{Accounts: h.config.Accounts != nil}
	text, found := sessionText(c.Request)
	if view.Accounts && found {
		caller, expires, err := h.config.Accounts.Resume(c.Request.Context(), text)
		switch {
		case errors.Is(err, account.ErrNoSession):
			// Nobody is signed in; the answer says so.
		case err != nil:
			fail(c, err)
			return
		default:
			c.Set(callerKey, caller)
			if err := h.describeSession(c, &view, text, caller, expires); err != nil {
				fail(c, err)
				return
			}
		}
	}
	h.writeJSON(c, view)
}

// BeginSession serves POST /v1/session: it signs a browser in, with a key or by a link.
func (h *handlers) BeginSession(c *gin.Context) {
	if h.config.Accounts == nil {
		fail(c, refuse(notFound, "Nobody signs in here: this service was started without accounts."))
		return
	}
	if err := h.beginSession(c); err != nil {
		fail(c, err)
	}
}

func (h *handlers) beginSession(c *gin.Context) error {
	// Another site must not sign a browser in as somebody of its choice.
	if err := h.crossOrigin.Check(c.Request); err != nil {
		return refuse(crossOrigin)
	}
	secure, err := overTLS(c.Request)
	if err != nil {
		return err
	}
	var body SignIn
	if err := h.readBody(c, "SignIn", &body); err != nil {
		return err
	}
	now := time.Now()
	if !h.signIns.AllowN(now, 1) {
		return &refusal{kind: tooManySignIns, header: retryIn(until(h.signIns, now))}
	}
	var session *account.Session
	if body.Link != "" {
		session, err = h.config.Accounts.FollowLink(c.Request.Context(), body.Link)
	} else {
		session, err = h.config.Accounts.SignIn(c.Request.Context(), strings.TrimSpace(body.Key))
	}
	if errors.Is(err, account.ErrUsedLink) {
		return &refusal{kind: unusableLink, header: challenge("")}
	}
	if err != nil {
		return refusedKey(err)
	}
	c.Set(callerKey, session.Caller)
	view := Session{Accounts: true}
	if err := h.describeSession(c, &view, session.Text, session.Caller, session.Expires); err != nil {
		return err
	}
	http.SetCookie(c.Writer, sessionCookie(session.Text, secure))
	h.writeJSON(c, view)
	return nil
}

// EndSession serves DELETE /v1/session.
func (h *handlers) EndSession(c *gin.Context) {
	if h.config.Accounts == nil {
		fail(c, refuse(notFound, "Nobody signs in here: this service was started without accounts."))
		return
	}
	if _, found := sessionText(c.Request); found {
		caller, err := h.resume(c.Request)
		if err == nil {
			c.Set(callerKey, caller)
			err = h.config.Accounts.End(c.Request.Context(), caller)
		}
		var refused *refusal
		if err != nil && (!errors.As(err, &refused) || refused.kind != sessionEnded) {
			fail(c, err)
			return
		}
	}
	for _, secure := range []bool{true, false} {
		cookie := sessionCookie("", secure) // #nosec G124 -- takes both cookies back
		cookie.MaxAge = -1
		http.SetCookie(c.Writer, cookie)
	}
	c.Status(http.StatusNoContent)
	c.Writer.WriteHeaderNow()
}

// describeSession says who is signed in, and gives the page what it needs to act.
func (h *handlers) describeSession(c *gin.Context, view *Session, text string, caller account.Caller, expires time.Time) error {
	name, err := h.config.Accounts.OrganizationName(c.Request.Context(), caller)
	if errors.Is(err, store.ErrNotFound) {
		return &refusal{kind: sessionEnded, header: challenge("")}
	}
	if err != nil {
		return err
	}
	view.SignedIn = &SignedIn{
		Organization: name, Role: string(caller.Role), Subject: caller.Subject, Scopes: account.ScopeNames(caller.Scopes()),
		Expires: expires, Token: tokenOf(text),
	}
	return nil
}

// resume finds out whose browser sent a request. What changes something must come from a
// page of our own: by what the browser says about it, and by a token that no other page can
// have read (OWASP, Cross-Site Request Forgery Prevention: a token bound to the session).
func (h *handlers) resume(r *http.Request) (account.Caller, error) {
	text, _ := sessionText(r)
	caller, _, err := h.config.Accounts.Resume(r.Context(), text)
	if errors.Is(err, account.ErrNoSession) {
		return caller, &refusal{kind: sessionEnded, header: challenge("")}
	}
	if err != nil || r.Method == http.MethodGet || r.Method == http.MethodHead {
		return caller, err
	}
	if h.crossOrigin.Check(r) != nil {
		return account.Caller{}, refuse(crossOrigin)
	}
	if !hmac.Equal([]byte(r.Header.Get(tokenHeader)), []byte(tokenOf(text))) {
		return account.Caller{}, refuse(missingToken)
	}
	return caller, nil
}

// tokenOf is bound to a session and tells nothing of what opens it.
func tokenOf(text string) string {
	sum := hmac.New(sha256.New, []byte(text))
	_, _ = sum.Write([]byte("token of pages"))
	return base64.RawURLEncoding.EncodeToString(sum.Sum(nil))
}

// sessionCookie ends with the browser, or before by what the database says. No other site
// makes a browser send it.
func sessionCookie(text string, secure bool) *http.Cookie {
	name := plainCookie
	if secure {
		name = secureCookie
	}
	return &http.Cookie{Name: name, Value: text, Path: "/", HttpOnly: true, Secure: secure, SameSite: http.SameSiteStrictMode} // #nosec G124 -- secure but on plain http, where it would not be kept
}

// sessionText is what the cookie of a request holds. Two of a name are none: one of them
// was put there by somebody else. The plain one counts on this machine only.
func sessionText(r *http.Request) (text string, found bool) {
	names := []string{secureCookie}
	if loopback(r.Host) {
		names = append(names, plainCookie)
	}
	for _, name := range names {
		if cookies := r.CookiesNamed(name); len(cookies) == 1 {
			return cookies[0].Value, true
		}
	}
	return "", false
}

// sessionOf is what signs the browser in that sent a request, "" where something else let it
// in.
func (h *handlers) sessionOf(r *http.Request) string {
	if h.config.Accounts == nil || len(r.Header.Values("Authorization")) > 0 {
		return ""
	}
	text, _ := sessionText(r)
	return text
}

// overTLS tells whether a browser reaches the service over https, whatever stands between:
// it says so itself (Fetch, the header Origin). Over http only this machine signs in, since
// anybody on the way would read the cookie.
func overTLS(r *http.Request) (bool, error) {
	origin := r.Header.Get("Origin")
	switch {
	case r.TLS != nil || strings.HasPrefix(origin, "https://"):
		return true, nil
	case loopback(r.Host):
		return false, nil
	case origin != "":
		return false, refuse(insecureSignIn)
	}
	return true, nil // no browser; what it sends back is its own affair
}
