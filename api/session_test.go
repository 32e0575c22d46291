package api

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"partwright/worker/account"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

const schoolHost = "marks.school.example"

// browser is one that is signed in, or not yet.
type browser struct {
	*tenants
	host, origin string
	cookies      []*http.Cookie
	token        string
}

func (s *tenants) browser(host, origin string) *browser {
	return &browser{tenants: s, host: host, origin: origin}
}

// send makes a request of it as a browser sends it from the service's own page.
func (b *browser) send(r *http.Request) *httptest.ResponseRecorder {
	b.t.Helper()
	r.Host = b.host
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		setUnlessSet(r, "Origin", b.origin)
		setUnlessSet(r, tokenHeader, b.token)
	}
	for _, cookie := range b.cookies {
		r.AddCookie(cookie)
	}
	w := b.do(r)
	for _, cookie := range w.Result().Cookies() {
		b.cookies = nil
		if cookie.MaxAge >= 0 {
			b.cookies = []*http.Cookie{cookie}
		}
	}
	return w
}

func setUnlessSet(r *http.Request, name, value string) {
	if _, set := r.Header[http.CanonicalHeaderKey(name)]; !set {
		r.Header.Set(name, value)
	}
}

func (b *browser) signIn(what, text string) *httptest.ResponseRecorder {
	b.t.Helper()
	w := b.send(body(http.MethodPost, "/v1/session", `{"`+what+`":"`+text+`"}`))
	if w.Code == http.StatusOK {
		b.token = decode[Session](b.t.(*testing.T), w).SignedIn.Token
	}
	return w
}

// The cookie is as RFC 6265bis has it for one of this host alone: of the prefix __Host-,
// which a browser takes only with Secure, the path / and no domain. Over http on the own
// machine, where a browser would not take that, it has the plain name.
func TestCookieOfASession(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	_, key := s.organization(store.Quotas{}, account.Scores)
	for _, c := range []struct {
		name, host, origin string
		status             int
		want               string
	}{
		{"https", schoolHost, "https://" + schoolHost, 200, "__Host-partwright_session=T; Path=/; HttpOnly; Secure; SameSite=Strict"},
		{"https on this machine", "localhost:8443", "https://localhost:8443", 200, "__Host-partwright_session=T; Path=/; HttpOnly; Secure; SameSite=Strict"},
		{"http on this machine", "127.0.0.1:8080", "http://127.0.0.1:8080", 200, "partwright_session=T; Path=/; HttpOnly; SameSite=Strict"},
		{"http by name on this machine", "localhost:8080", "http://localhost:8080", 200, "partwright_session=T; Path=/; HttpOnly; SameSite=Strict"},
		{"http elsewhere", schoolHost, "http://" + schoolHost, 403, ""},
		{"http at an address elsewhere", "192.0.2.1:8080", "http://192.0.2.1:8080", 403, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := &tenants{s.in(t), s.store}
			w := in.browser(c.host, c.origin).signIn("key", key)
			got := w.Header().Get("Set-Cookie")
			if name, rest, found := strings.Cut(got, "="); found {
				text, attributes, _ := strings.Cut(rest, ";")
				if len(text) < 40 {
					t.Errorf("the cookie holds %d characters", len(text))
				}
				got = name + "=T;" + attributes
			}
			if w.Code != c.status || got != c.want {
				t.Errorf("%d, %s", w.Code, got)
			}
		})
	}
}

func TestBrowserSignsInAndOut(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newTenants(t, c, Config{})
		_, key := s.organization(store.Quotas{}, account.Scores, account.ReadBatches)
		b := s.browser(schoolHost, "https://"+schoolHost)
		shown := func() Session { return decode[Session](t, b.send(get("/v1/session"))) }
		if now := shown(); !now.Accounts || now.SignedIn != nil {
			t.Errorf("before: %+v", now)
		}
		if w := b.send(get("/v1/usage")); w.Code != http.StatusUnauthorized {
			t.Errorf("nobody sees the usage: %d", w.Code)
		}
		if w := b.signIn("key", key[:len(key)-1]+"1"); w.Code != http.StatusUnauthorized || len(b.cookies) > 0 {
			t.Errorf("a mistyped key: %d", w.Code)
		}
		if w := b.signIn("key", " "+key); w.Code != http.StatusOK {
			t.Fatalf("a key: %d %s", w.Code, w.Body)
		}
		now := shown()
		if now.SignedIn == nil || now.SignedIn.Organization != "school" || now.SignedIn.Token != b.token || len(now.SignedIn.Scopes) != 2 {
			t.Errorf("signed in: %+v", now.SignedIn)
		}
		// What a link of a page asks for carries the cookie alone.
		if w := b.send(get("/v1/usage")); w.Code != http.StatusOK || w.Header().Get("RateLimit") == "" {
			t.Errorf("signed in, the usage: %d", w.Code)
		}
		if w := b.send(post("/v1/checks", tinyScore)); w.Code != http.StatusOK {
			t.Errorf("signed in, a check: %d", w.Code)
		}
		if w := b.send(post("/v1/batches", tinyScore)); w.Code != http.StatusForbidden || s.problem(w).Code != "missing-scope" {
			t.Errorf("outside of the scopes: %d", w.Code)
		}
		old := b.cookies
		if w := b.send(httptest.NewRequest(http.MethodDelete, "/v1/session", nil)); w.Code != http.StatusNoContent || len(b.cookies) > 0 {
			t.Errorf("out: %d, %v", w.Code, b.cookies)
		}
		b.cookies = old
		if w := b.send(get("/v1/usage")); w.Code != http.StatusUnauthorized || s.problem(w).Code != "session-ended" {
			t.Errorf("with the old cookie: %d", w.Code)
		}
		if now := shown(); now.SignedIn != nil {
			t.Errorf("after: %+v", now.SignedIn)
		}
		for _, secret := range []string{key[20:30], old[0].Value[25:35], b.token[:10]} {
			if strings.Contains(s.log.String(), secret) {
				t.Error("what opens a session is in the log")
			}
		}
	})
}

func TestLinkSignsABrowserIn(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	_, key := s.organization(store.Quotas{}, account.ReadBatches)
	link, _, err := account.CreateLink(t.Context(), s.store, s.keyID(key))
	if err != nil {
		t.Fatal(err)
	}
	b, second := s.browser("localhost", "http://localhost"), s.browser("localhost", "http://localhost")
	if w := b.signIn("link", link); w.Code != http.StatusOK {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if w := b.send(get("/v1/usage")); w.Code != http.StatusOK {
		t.Errorf("signed in by a link: %d", w.Code)
	}
	if w := second.signIn("link", link); w.Code != http.StatusUnauthorized || s.problem(w).Code != "unusable-link" {
		t.Errorf("a second time: %d", w.Code)
	}
	if strings.Contains(s.log.String(), link[20:30]) {
		t.Error("the link is in the log")
	}
}

// Pages of other sites cannot act for a browser that is signed in (W3C, Fetch Metadata;
// OWASP, Cross-Site Request Forgery Prevention).
func TestOtherPagesDoNotActForABrowser(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	_, key := s.organization(store.Quotas{}, account.Scopes...)
	b := s.browser(schoolHost, "https://"+schoolHost)
	b.signIn("key", key)
	signedIn := b.cookies
	for _, c := range []struct {
		name    string
		headers map[string]string
		cookies []*http.Cookie
		status  int
		code    string
	}{
		{"our own page", nil, signedIn, 200, ""},
		{"our own page, said by the browser", map[string]string{"Sec-Fetch-Site": "same-origin", "Origin": "https://else.example"}, signedIn, 200, ""},
		{"without the token", map[string]string{tokenHeader: ""}, signedIn, 403, "missing-token"},
		{"with another token", map[string]string{tokenHeader: strings.Repeat("A", 43)}, signedIn, 403, "missing-token"},
		{"another site", map[string]string{"Sec-Fetch-Site": "cross-site"}, signedIn, 403, "cross-origin"},
		{"another origin of the site", map[string]string{"Sec-Fetch-Site": "same-site"}, signedIn, 403, "cross-origin"},
		{"another origin", map[string]string{"Origin": "https://else.example"}, signedIn, 403, "cross-origin"},
		{"two cookies of the name", nil, append(signedIn, &http.Cookie{Name: secureCookie, Value: "x"}), 401, "missing-key"},
		{"the plain name on another host", nil, []*http.Cookie{{Name: plainCookie, Value: signedIn[0].Value}}, 401, "missing-key"},
		{"a guess", nil, []*http.Cookie{{Name: secureCookie, Value: "x"}}, 401, "session-ended"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := *b
			in.tenants = &tenants{s.in(t), s.store}
			in.cookies = c.cookies
			r := post("/v1/checks", tinyScore)
			for name, value := range c.headers {
				r.Header.Set(name, value)
			}
			w := in.send(r)
			if w.Code != c.status || (c.code != "" && s.problem(w).Code != c.code) {
				t.Errorf("%d %s", w.Code, w.Body)
			}
		})
	}
	// Nor sign it in as somebody else, or out.
	r := body(http.MethodPost, "/v1/session", `{"key":"`+key+`"}`)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	if w := b.send(r); w.Code != http.StatusForbidden {
		t.Errorf("signed in by another site: %d", w.Code)
	}
	r = httptest.NewRequest(http.MethodDelete, "/v1/session", nil)
	r.Header.Set(tokenHeader, "")
	if w := b.send(r); w.Code != http.StatusForbidden {
		t.Errorf("signed out by another site: %d", w.Code)
	}
	// A key counts before a cookie.
	_, other := s.organization(store.Quotas{}, account.Webhooks)
	if w := b.send(with(other, get("/v1/usage"))); w.Code != http.StatusForbidden {
		t.Errorf("a key without the scope beside a cookie with it: %d", w.Code)
	}
}

func TestSignInsAreLimited(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	s.server.handlers.signIns.SetBurst(2)
	s.server.handlers.signIns.SetLimit(0.1)
	b := s.browser("localhost", "http://localhost")
	for i, want := range []int{401, 401, 429} {
		w := b.signIn("key", "partwright_x")
		if w.Code != want || (want == 429 && w.Header().Get("Retry-After") == "") {
			t.Errorf("attempt %d: %d", i+1, w.Code)
		}
	}
}

func TestNobodySignsInWithoutAccounts(t *testing.T) {
	s := &tenants{service: newService(t, &fakePool{}, Config{})}
	b := s.browser("localhost", "http://localhost")
	if now := decode[Session](t, b.send(get("/v1/session"))); now.Accounts || now.SignedIn != nil {
		t.Errorf("%+v", now)
	}
	if w := b.signIn("key", "x"); w.Code != http.StatusNotFound {
		t.Errorf("in: %d", w.Code)
	}
	if w := b.send(httptest.NewRequest(http.MethodDelete, "/v1/session", nil)); w.Code != http.StatusNotFound {
		t.Errorf("out: %d", w.Code)
	}
}

// A stream of events that is open ends when the browser is signed out elsewhere, in another
// tab; it is not ended by what another browser does, and a key's stream by neither.
func TestStreamsOfEventsEndWithTheSession(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{MaxFollowers: 10})
	_, key := s.organization(store.Quotas{}, account.ReadBatches, account.WriteBatches)
	made := decode[Batch](t, s.do(with(key, post("/v1/batches?open=true", tinyScore))))
	follow := func(r *http.Request) <-chan struct{} {
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			s.do(r)
		}()
		return ended
	}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	stream := func() *http.Request { return get("/v1/batches/" + made.ID + "/events").WithContext(ctx) }
	var browsers [2]*browser
	var streams [3]<-chan struct{}
	for i := range browsers {
		b := s.browser(schoolHost, "https://"+schoolHost)
		if w := b.signIn("key", key); w.Code != http.StatusOK {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		r := stream()
		r.Host = b.host
		r.AddCookie(b.cookies[0])
		browsers[i], streams[i] = b, follow(r)
	}
	streams[2] = follow(with(key, stream()))
	if w := browsers[0].send(httptest.NewRequest(http.MethodDelete, "/v1/session", nil)); w.Code != http.StatusNoContent {
		t.Fatalf("out: %d", w.Code)
	}
	select {
	case <-streams[0]:
	case <-time.After(time.Minute):
		t.Error("the stream goes on after sign-out")
	}
	for i, other := range streams[1:] {
		select {
		case <-other:
			t.Errorf("stream %d ends too", i+1)
		default:
		}
	}
	stop()
	for _, other := range streams {
		<-other
	}
}
