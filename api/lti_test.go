package api

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/api/outgoing"
	"partwright/worker"
	"partwright/worker/account"
	"partwright/worker/classroom/classbook"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// lmsCourse is a service that a learning system knows.
type lmsCourse struct {
	*service
	platform          *ltitest.Platform
	base              string
	cookies           []*http.Cookie
	classes           *classbook.Service
	store             *store.Store
	organization, key string
	registration      *lti.Registration
}

func newClassroom(t *testing.T, database store.Config) *lmsCourse {
	t.Helper()
	var s *service
	front := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.server.public.Handler.ServeHTTP(w, r) }))
	t.Cleanup(front.Close)
	data := storetest.Open(t, database)
	kept := lti.Keep(data)
	guard := outgoing.Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}
	tool, err := lti.New(lti.Config{Store: kept, Base: front.URL, Guard: guard, Plain: true, Client: outgoing.NewClient(guard, nil, 5*time.Second)})
	if err != nil {
		t.Fatal(err)
	}
	c := &lmsCourse{platform: ltitest.NewPlatform(t), base: front.URL, classes: classbook.New(data, &worker.Engine{}), store: data}
	book := gradebook.New(gradebook.Config{Store: data, Classes: c.classes, Tool: tool, Publisher: runPublisher(t, data, tool)})
	s = newService(t, &fakePool{}, Config{LTI: tool, Gradebook: book, Classes: c.classes, Accounts: account.New(data, slog.New(slog.DiscardHandler))})
	c.service = s
	c.platform.Knows(front.URL)
	in := &tenants{s, data}
	c.organization, c.key = in.organization(store.Quotas{}, account.Scopes...)
	if c.registration, err = kept.Register(t.Context(), c.platform.Registration(c.organization), c.platform.Deployment); err != nil {
		t.Fatal(err)
	}
	return c
}

// eachCourse runs a test on either database.
func eachCourse(t *testing.T, test func(*testing.T, *lmsCourse)) {
	t.Helper()
	storetest.Each(t, func(t *testing.T, database store.Config) { test(t, newClassroom(t, database)) })
}

// runPublisher publishes scores until the test ends.
func runPublisher(t *testing.T, data *store.Store, tool *lti.Tool) *lti.Publisher {
	t.Helper()
	p := lti.NewPublisher(tool, data, nil)
	kinds := queue.NewKinds()
	p.Handle(kinds)
	q, err := queue.Open(t.Context(), queue.Config{Store: data, Workers: map[string]int{lti.Line: 2}, FetchPoll: 20 * time.Millisecond}, kinds)
	if err != nil {
		t.Fatal(err)
	}
	p.Use(q)
	if err := q.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := q.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return p
}

// browse makes a request that goes nowhere by itself.
func (c *lmsCourse) browse(method, path string, form url.Values, header ...string) (*http.Response, string) {
	c.t.Helper()
	r, err := http.NewRequestWithContext(c.t.Context(), method, c.base+path, strings.NewReader(form.Encode()))
	if err != nil {
		c.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	// A browser says so of what a page of the learning system posts.
	r.Header.Set("Origin", c.platform.URL())
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	for _, cookie := range c.cookies {
		r.AddCookie(cookie)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	w, err := client.Do(r)
	if err != nil {
		c.t.Fatal(err)
	}
	defer func() { _ = w.Body.Close() }()
	text, err := io.ReadAll(w.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	c.cookies = append(c.cookies, w.Cookies()...)
	return w, string(text)
}

// login begins one and returns what the learning system was asked.
func (c *lmsCourse) login() url.Values {
	c.t.Helper()
	w, text := c.browse(http.MethodPost, lti.LoginPath, url.Values{"iss": {c.platform.URL()}, "login_hint": {"1"}, "target_link_uri": {c.base + "/"}})
	if w.StatusCode != http.StatusFound {
		c.t.Fatalf("the login is answered %d %s", w.StatusCode, text)
	}
	answer, err := http.Get(w.Header.Get("Location"))
	if err != nil {
		c.t.Fatal(err)
	}
	_ = answer.Body.Close()
	return c.platform.Request()
}

// A teacher comes from the learning system, sees what was launched, and sends back what
// was chosen. Nothing of it stands in the log.
func TestLearningSystemThroughTheService(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		login := c.login()
		claims := c.platform.Launch(login, c.base+"/", ltitest.Membership+"Instructor")
		claims[ltitest.Claim+"message_type"] = "LtiDeepLinkingRequest"
		claims[ltitest.ClaimDL+"deep_linking_settings"] = map[string]any{
			"deep_link_return_url": c.platform.URL() + "/chosen", "accept_types": []string{"ltiResourceLink"}, "accept_presentation_document_targets": []string{"iframe"}, "data": "d",
		}
		w, text := c.browse(http.MethodPost, lti.LaunchPath, url.Values{"state": {login.Get("state")}, "id_token": {c.platform.Sign(claims)}})
		_, secret, found := strings.Cut(w.Header.Get("Location"), "/#lti=")
		if w.StatusCode != http.StatusSeeOther || !found {
			t.Fatalf("the launch is answered %d %s", w.StatusCode, text)
		}
		w, text = c.browse(http.MethodGet, "/lti/launched", nil, "Authorization", "Bearer "+secret)
		var got launched
		if err := json.Unmarshal([]byte(text), &got); err != nil || w.StatusCode != http.StatusOK || got.Kind != lti.DeepLinking || !got.Teacher || got.Pupil || !got.Grades {
			t.Errorf("launched is %d %s", w.StatusCode, text)
		}
		if strings.Contains(text, "a6d5c443") {
			t.Error("the page is told who came")
		}
		w, text = c.browse(http.MethodPost, "/lti/deep-link", url.Values{"session": {secret}, "title": {"Chorale"}, "points": {"12"}})
		_, after, _ := strings.Cut(text, `name="JWT" value="`)
		token, _, _ := strings.Cut(after, `"`)
		answer, err := c.platform.Verify(token)
		if err != nil || w.StatusCode != http.StatusOK || answer[ltitest.ClaimDL+"data"] != "d" {
			t.Errorf("what was chosen is answered %d %s: %v", w.StatusCode, text, err)
		}
		for _, secret := range []string{secret, login.Get("state"), login.Get("nonce"), "a6d5c443", token} {
			if secret == "" || strings.Contains(c.log.String(), secret) {
				t.Errorf("the log holds %q, or there is none", secret)
			}
		}
	})
}

// Each refusal is a problem document for programs, and a page for a person in a frame.
func TestRefusalsOfLaunches(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		for _, tt := range []struct {
			why    string
			change func(jwt.MapClaims)
			code   string
			sign   func(jwt.MapClaims) string // nil for signed as it should be
		}{
			{why: "another's signature", code: "lti-wrong-signature", sign: func(m jwt.MapClaims) string {
				return ltitest.SignBy(t, jwt.SigningMethodRS256, "platform-key-1", ltitest.Keys()[1], m)
			}},
			{why: "a key that nobody knows", code: "lti-unknown-key", sign: func(m jwt.MapClaims) string {
				return ltitest.SignBy(t, jwt.SigningMethodRS256, "forged", ltitest.Keys()[0], m)
			}},
			{why: "expired", change: func(m jwt.MapClaims) { m["exp"] = time.Now().Add(-time.Hour).Unix() }, code: "lti-expired"},
			{why: "the clocks disagree", change: func(m jwt.MapClaims) { m["iat"] = time.Now().Add(time.Hour).Unix() }, code: "lti-issued-later"},
			{why: "another audience", change: func(m jwt.MapClaims) { m["aud"] = "x" }, code: "lti-wrong-audience"},
			{why: "another nonce", change: func(m jwt.MapClaims) { m["nonce"] = "x" }, code: "lti-wrong-nonce"},
			{why: "another issuer", change: func(m jwt.MapClaims) { m["iss"] = "x" }, code: "lti-wrong-issuer"},
			{why: "another deployment", change: func(m jwt.MapClaims) { m[ltitest.Claim+"deployment_id"] = "x" }, code: "lti-unknown-deployment"},
		} {
			t.Run(tt.why, func(t *testing.T) {
				login := c.login()
				claims := c.platform.Launch(login, c.base+"/", ltitest.Membership+"Learner")
				if tt.change != nil {
					tt.change(claims)
				}
				sign := c.platform.Sign
				if tt.sign != nil {
					sign = tt.sign
				}
				form := url.Values{"state": {login.Get("state")}, "id_token": {sign(claims)}}
				w, text := c.browse(http.MethodPost, lti.LaunchPath, form)
				var p Problem
				if err := json.Unmarshal([]byte(text), &p); err != nil || p.Code != tt.code || p.Status != w.StatusCode || w.Header.Get("Content-Type") != "application/problem+json" {
					t.Errorf("answered %d %s", w.StatusCode, text)
				}
				w, text = c.browse(http.MethodPost, lti.LaunchPath, form, "Accept", "text/html,*/*;q=0.8")
				if w.StatusCode != p.Status || !strings.HasPrefix(w.Header.Get("Content-Type"), "text/html") || !strings.Contains(text, p.Title) {
					t.Errorf("a person sees %d %s", w.StatusCode, text)
				}
			})
		}
		// A launch counts once, whoever posts it again.
		login := c.login()
		form := url.Values{"state": {login.Get("state")}, "id_token": {c.platform.Sign(c.platform.Launch(login, c.base+"/", ltitest.Membership+"Instructor"))}}
		cookies := slices.Clone(c.cookies)
		for i, want := range []string{"", "lti-replayed"} {
			c.cookies = cookies
			_, text := c.browse(http.MethodPost, lti.LaunchPath, form)
			var p Problem
			if err := json.Unmarshal([]byte(text), &p); (want != "") != (err == nil) || p.Code != want {
				t.Errorf("posted %d times it is answered %s", i+1, text)
			}
		}
		w, text := c.browse(http.MethodGet, "/lti/launched", nil)
		if w.StatusCode != http.StatusUnauthorized || w.Header.Get("WWW-Authenticate") == "" || !strings.Contains(text, "lti-no-session") {
			t.Errorf("without a session it is answered %d %s", w.StatusCode, text)
		}
		for _, points := range []string{"-1", "0", "NaN", "1e9", "many"} {
			login := c.login()
			claims := c.platform.Launch(login, c.base+"/", ltitest.Membership+"Instructor")
			w, _ := c.browse(http.MethodPost, lti.LaunchPath, url.Values{"state": {login.Get("state")}, "id_token": {c.platform.Sign(claims)}})
			_, secret, _ := strings.Cut(w.Header.Get("Location"), "/#lti=")
			if w, text := c.browse(http.MethodPost, "/lti/deep-link", url.Values{"session": {secret}, "title": {"x"}, "points": {points}}); w.StatusCode != http.StatusBadRequest {
				t.Errorf("points %s are answered %d %s", points, w.StatusCode, text)
			}
		}
	})
}

// Without a name for it the service answers no learning system.
func TestNoLearningSystems(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	for _, path := range []string{lti.LoginPath, lti.LaunchPath, lti.KeysPath, lti.RegisterPath, "/lti/launched", "/lti/deep-link"} {
		if w := s.do(get(path)); w.Code != http.StatusNotFound {
			t.Errorf("%s is answered %d", path, w.Code)
		}
	}
}

// The keys are there for learning systems, which may keep them for an hour.
func TestKeysForLearningSystems(t *testing.T) {
	eachCourse(t, func(t *testing.T, c *lmsCourse) {
		w, text := c.browse(http.MethodGet, lti.KeysPath, nil)
		var set lti.KeySet
		if err := json.Unmarshal([]byte(text), &set); err != nil || len(set.Keys) != 1 || set.Keys[0].Modulus == "" || w.Header.Get("Cache-Control") != "public, max-age=3600" || strings.Contains(text, `"d"`) {
			t.Errorf("the keys are %d %s", w.StatusCode, text)
		}
	})
}
