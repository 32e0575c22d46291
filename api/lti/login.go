package lti

import (
	"crypto/subtle"
	"net/http"
	"net/url"
	"strings"
)

// maxParameter bounds a parameter of a login; maxForm a posted form.
const (
	maxParameter = 4 << 10
	maxForm      = 128 << 10
)

// loginParameters are those of a login that count; the first three must be there (OIDC
// 4; Core 4.1; Storage).
var loginParameters = []string{"iss", "login_hint", "target_link_uri", "lti_message_hint", "client_id", "lti_deployment_id", "lti_storage_target"}

const loginRequired = 3

// form reads a query or a posted form; parameters that count may come once.
func form(w http.ResponseWriter, r *http.Request, names []string) (url.Values, error) {
	if r.Method == http.MethodPost {
		r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		if err := r.ParseForm(); err != nil {
			return nil, LoginIncomplete.from("The form cannot be read.", err)
		}
		// A parameter in the address of a posted form would be read by nobody.
		return once(r.PostForm, names)
	}
	query, err := url.ParseQuery(r.URL.RawQuery)
	if err != nil {
		return nil, LoginIncomplete.from("The query cannot be read.", err)
	}
	return once(query, names)
}

// once keeps the parameters that count (RFC 6749, 3.1: none may come twice).
func once(all url.Values, names []string) (url.Values, error) {
	kept := url.Values{}
	for _, name := range names {
		values := all[name]
		switch {
		case len(values) > 1:
			return nil, LoginIncomplete.Because("The parameter " + name + " comes twice.")
		case len(values) == 1 && len(values[0]) > maxParameter && name != "id_token":
			return nil, LoginIncomplete.Because("The parameter " + name + " is too long.")
		case len(values) == 1:
			kept[name] = values
		}
	}
	return kept, nil
}

// Login answers the login that a learning system begins, by GET or POST: it sends the
// browser to the learning system to be told who it is (OIDC 4, third-party initiated;
// Core 4.1; Security 5.1.1).
func (t *Tool) Login(w http.ResponseWriter, r *http.Request) error {
	query, err := form(w, r, loginParameters)
	if err != nil {
		return err
	}
	for _, name := range loginParameters[:loginRequired] {
		if query.Get(name) == "" {
			return LoginIncomplete.Because("The parameter " + name + " is missing.")
		}
	}
	registration, err := t.registrationFor(r, query.Get("iss"), query.Get("client_id"))
	if err != nil {
		return err
	}
	browser := newSecret()
	login := Login{
		State: newSecret(), Registration: registration.ID, Nonce: newSecret(), Browser: hashOf(browser),
		Deployment: query.Get("lti_deployment_id"), Storage: query.Get("lti_storage_target"),
		Again: query.Encode(), Expires: t.Store.Now().Add(loginFor),
	}
	if err := t.Store.AddLogin(r.Context(), login); err != nil {
		return err
	}
	address, err := authenticationRequest(registration, &login, query, t.at(LaunchPath))
	if err != nil {
		return err
	}
	http.SetCookie(w, t.cookie(login.State, browser, int(loginFor.Seconds())))
	if login.Storage == "" {
		http.Redirect(w, r, address, http.StatusFound) // #nosec G710 -- to the address that the learning system was registered with
		return nil
	}
	// A cookie may be kept from a frame, and then the learning system's own window keeps
	// the secret for us.
	return writePage(w, http.StatusOK, pageStore, pageData{
		"state": login.State, "secret": browser, "frame": login.Storage, "origin": originOf(registration.Authorization), "address": address,
	})
}

func (t *Tool) registrationFor(r *http.Request, issuer, client string) (*Registration, error) {
	all, err := t.Store.Registrations(r.Context(), issuer, client)
	switch {
	case err != nil:
		return nil, err
	case len(all) == 0:
		return nil, UnknownPlatform.Because("No learning system with this issuer and client id is registered here.")
	case len(all) > 1:
		return nil, ClientNeeded.Because("The learning system is registered more than once and did not send its client_id.")
	}
	return &all[0], nil
}

// authenticationRequest is where the browser is sent (Security 5.1.1.2). The hints go
// back as they came.
func authenticationRequest(r *Registration, l *Login, query url.Values, launch string) (string, error) {
	address, err := url.Parse(r.Authorization)
	if err != nil {
		return "", UnusableRegistration.Because("The learning system's address for logins cannot be read.")
	}
	q := address.Query()
	for name, value := range map[string]string{
		"scope": "openid", "response_type": "id_token", "response_mode": "form_post", "prompt": "none",
		"client_id": r.ClientID, "redirect_uri": launch, "state": l.State, "nonce": l.Nonce, "login_hint": query.Get("login_hint"),
	} {
		q.Set(name, value)
	}
	if hint, sent := query["lti_message_hint"]; sent {
		q["lti_message_hint"] = hint
	}
	address.RawQuery = q.Encode()
	return address.String(), nil
}

// cookieName is of one login: several may run at once in the frames of one page.
func cookieName(state string) string {
	name, _, _ := strings.Cut(hashOf(state), "=")
	return "__Host-lti-" + name[:16]
}

// cookie holds the secret of a login. Partitioned is what lets it into a frame where
// cookies of others are blocked (CHIPS); the launch is posted from another site, which
// takes SameSite=None.
func (t *Tool) cookie(state, secret string, age int) *http.Cookie {
	return &http.Cookie{ // #nosec G124 -- a learning system shows the service in a frame of its own site
		Name: cookieName(state), Value: secret, Path: "/", MaxAge: age,
		Secure: true, HttpOnly: true, SameSite: http.SameSiteNoneMode, Partitioned: true,
	}
}

// began reports whether a request shows the secret of the browser where a login began,
// by its cookie, or by the form where the learning system kept it.
func began(r *http.Request, l *Login, fromForm string) (shown, right bool) {
	secret := fromForm
	if cookie, err := r.Cookie(cookieName(l.State)); err == nil {
		secret = cookie.Value
	}
	if secret == "" {
		return false, false
	}
	return true, subtle.ConstantTimeCompare([]byte(hashOf(secret)), []byte(l.Browser)) == 1
}

// originOf is scheme, host and port of an address, "" if it cannot be read.
func originOf(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return ""
	}
	return u.Scheme + "://" + u.Host
}
