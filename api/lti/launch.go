package lti

import (
	"context"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"

	"partwright/worker/store"
)

// launchParameters are those of a launch that count: the answer to a login (OIDC
// 3.2.2.5), and what a page of ours adds that asked the learning system's window.
var launchParameters = []string{"id_token", "state", "error", "lti_storage_target", "browser"}

// Launch answers the launch that a learning system posts. The browser is sent on to
// what was launched, so that loading the page again does not post it again; the
// address's fragment, which goes to no server and into no log, holds the secret of the
// session. Where a frame has no cookies, a page of ours asks the learning system's window
// for the secret of the login, or offers a window of its own.
func (t *Tool) Launch(w http.ResponseWriter, r *http.Request) error {
	f, err := form(w, r, launchParameters)
	if err != nil {
		return err
	}
	login, err := t.Store.Login(r.Context(), f.Get("state"))
	switch {
	case errors.Is(err, store.ErrNotFound):
		return UnknownLogin.Because("The launch answers no login that began here in the last minutes.")
	case err != nil:
		return err
	case login.Used:
		return Replayed.Because("This login was used before.")
	}
	registration, err := t.Store.Registration(r.Context(), login.Registration)
	if err != nil {
		return err
	}
	switch shown, right := began(r, login, f.Get("browser")); {
	case !shown && f.Get("error") == "":
		return t.withoutCookie(w, login, registration, f)
	case shown && !right:
		return OtherBrowser.Because("The launch comes from a browser in which its login did not begin.")
	case f.Get("error") != "":
		return LoginRefused.Because("The learning system answered the login with an error.") // its word is not ours to repeat
	}
	message, err := t.Validate(r.Context(), registration, login, f.Get("id_token"))
	if err != nil {
		return err
	}
	target := t.at("/")
	if message.Target != "" {
		target = message.Target
	}
	// Of several that come at once, one is first.
	if first, err := t.Store.UseLogin(r.Context(), login.State); err != nil || !first {
		if err != nil {
			return err
		}
		return Replayed.Because("This login was used before.")
	}
	if t.Opens != nil {
		if err := t.Opens(r.Context(), registration, message); err != nil {
			return err
		}
	}
	secret, err := t.open(r.Context(), registration, message)
	if err != nil {
		return err
	}
	http.SetCookie(w, t.cookie(login.State, "", -1))
	http.Redirect(w, r, target+"#lti="+secret, http.StatusSeeOther) // #nosec G710 -- target is an address of this service
	return nil
}

// withoutCookie answers a launch from a browser that sent no cookie of the login.
func (t *Tool) withoutCookie(w http.ResponseWriter, l *Login, r *Registration, f url.Values) error {
	if l.Storage != "" {
		return writePage(w, http.StatusOK, pageFetch, pageData{
			"state": l.State, "frame": l.Storage, "origin": originOf(r.Authorization), "token": f.Get("id_token"),
			"launch": t.at(LaunchPath), "again": t.at(LoginPath) + "?" + l.Again,
		})
	}
	return writePage(w, http.StatusOK, pageWindow, pageData{"again": t.at(LoginPath) + "?" + l.Again})
}

// Validate checks a token against the login that it answers, and reads the message in
// it. It uses the login up in no way.
func (t *Tool) Validate(ctx context.Context, r *Registration, l *Login, token string) (*Message, error) {
	c, err := t.verify(ctx, r.Keys, token)
	if err != nil {
		return nil, err
	}
	if err := t.checkToken(r, l, c); err != nil {
		return nil, err
	}
	m, err := readMessage(c)
	if err != nil {
		return nil, err
	}
	if err := t.checkMessage(ctx, r, l, m); err != nil {
		return nil, err
	}
	m.Registration = r.ID
	return m, nil
}

// checkToken holds the claims of OpenID Connect to the login (OIDC 3.1.3.7; Security
// 5.1.3).
func (t *Tool) checkToken(r *Registration, l *Login, c claims) error {
	issuer, err := c.text("iss")
	if err != nil {
		return err
	}
	if issuer != r.Issuer { // exactly: no slash, no capital more or less
		return WrongIssuer.Because("The issuer of the token is not that of the login.")
	}
	if err := checkAudience(r, c); err != nil {
		return err
	}
	if err := t.checkTimes(c); err != nil {
		return err
	}
	nonce, err := c.text("nonce")
	if err != nil {
		return err
	}
	if subtle.ConstantTimeCompare([]byte(nonce), []byte(l.Nonce)) != 1 {
		return WrongNonce.Because("The nonce of the token is missing or not the one that was sent.")
	}
	return nil
}

// checkAudience: with several audiences the token must say that it is ours (OIDC
// 3.1.3.7, 4 and 5, where that is a SHOULD).
func checkAudience(r *Registration, c claims) error {
	audience, err := c.texts("aud")
	if err != nil {
		return err
	}
	if !slices.Contains(audience, r.ClientID) {
		return WrongAudience.Because("The client id of this service is not in the audience of the token.")
	}
	party, err := c.text("azp")
	if err != nil {
		return err
	}
	if party != r.ClientID && (len(audience) > 1 || c.has("azp")) {
		return WrongParty.Because("The token has several audiences, or an authorized party, and azp is not the client id of this service.")
	}
	return nil
}

func (t *Tool) checkTimes(c claims) error {
	now := t.Store.Now()
	expires, err := c.time("exp")
	if err != nil {
		return err
	}
	issued, err := c.time("iat")
	if err != nil {
		return err
	}
	switch {
	case !now.Before(expires.Add(skew)):
		return Expired.Because("The token came after it had expired.")
	case issued.After(now.Add(skew)):
		return IssuedLater.Because("The token was issued in the future; the clocks disagree.")
	case now.Sub(issued) > oldest+skew:
		return IssuedLongAgo.Because("The token was issued longer ago than a login takes.")
	}
	return nil
}

// checkMessage holds what the message says to what is registered and to what this
// service is.
func (t *Tool) checkMessage(ctx context.Context, r *Registration, l *Login, m *Message) error {
	known, err := t.Store.KnowsDeployment(ctx, r.ID, m.Deployment)
	switch {
	case err != nil:
		return err
	case !known:
		return UnknownDeployment.Because("The deployment of the message is none that is registered here.")
	case l.Deployment != "" && l.Deployment != m.Deployment:
		return UnknownDeployment.Because("The deployment of the message is another than at the login.")
	case m.Subject == "" && !t.Anonymous:
		return MissingSubject.Because("The launch does not say who comes.")
	}
	// Core 5.3.5: the target in the token counts, not that of the login.
	if m.Target != "" && (originOf(m.Target) != t.base.String() || hasFragment(m.Target)) {
		return ForeignTarget.Because("The target of the launch is outside of this service.")
	}
	return nil
}

func hasFragment(address string) bool {
	u, err := url.Parse(address)
	return err != nil || u.Fragment != "" || u.User != nil
}

// open begins the session of a launch and returns its secret.
func (t *Tool) open(ctx context.Context, r *Registration, m *Message) (string, error) {
	text, err := json.Marshal(m)
	if err != nil {
		return "", err
	}
	secret := SecretPrefix + newSecret()
	return secret, t.Store.AddSession(ctx, Session{Hash: hashOf(secret), Registration: r.ID, Message: text, Expires: t.Store.Now().Add(sessionFor)})
}

// End ends the session of a secret: whoever finds the secret later comes to nothing by it.
func (t *Tool) End(ctx context.Context, secret string) error {
	return t.Store.EndSession(ctx, hashOf(secret))
}

// Launched finds what was launched by the secret of its session.
func (t *Tool) Launched(ctx context.Context, secret string) (*Registration, *Message, error) {
	s, err := t.Store.Session(ctx, hashOf(secret))
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil, NoSession.Because("The request does not come from a launch of the last hours.")
	}
	if err != nil {
		return nil, nil, err
	}
	m := &Message{}
	if err := json.Unmarshal(s.Message, m); err != nil {
		return nil, nil, err
	}
	r, err := t.Store.Registration(ctx, s.Registration)
	return r, m, err
}
