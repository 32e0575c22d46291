package lti_test

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/api/outgoing"
)

// clock is set by hand.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.now }

func (c *clock) advance(d time.Duration) { c.mu.Lock(); defer c.mu.Unlock(); c.now = c.now.Add(d) }

// school is a tool, a learning system, and a browser between them.
type school struct {
	*testing.T
	*ltitest.Platform
	clock *clock
	kept  *ltitest.Memory
	tool  *lti.Tool
	// registration is the learning system as the tool knows it.
	registration *lti.Registration
	base         string
	cookies      map[string]*http.Cookie
}

// thisMachine lets requests reach the learning system of a test.
var thisMachine = outgoing.Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}

func newSchool(t *testing.T, changes ...func(*lti.Config)) *school {
	t.Helper()
	// A round moment: tokens count whole seconds.
	s := &school{T: t, Platform: ltitest.NewPlatform(t), clock: &clock{now: time.Now().Truncate(time.Second)}, cookies: map[string]*http.Cookie{}}
	s.kept = &ltitest.Memory{Clock: s.clock.Now}
	s.Platform.Clock = s.clock.Now
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.serve(w, r) }))
	t.Cleanup(server.Close)
	s.base = server.URL
	config := lti.Config{Store: s.kept, Base: s.base, Client: outgoing.NewClient(thisMachine, nil, 5*time.Second), Guard: thisMachine, Plain: true}
	for _, change := range changes {
		change(&config)
	}
	var err error
	if s.tool, err = lti.New(config); err != nil {
		t.Fatal(err)
	}
	s.Knows(s.base)
	if s.registration, err = s.kept.Register(t.Context(), s.Registration("a school"), s.Deployment); err != nil {
		t.Fatal(err)
	}
	return s
}

// serve routes as a service does; a refusal is answered by its code.
func (s *school) serve(w http.ResponseWriter, r *http.Request) {
	var err error
	switch r.URL.Path {
	case lti.LoginPath:
		err = s.tool.Login(w, r)
	case lti.LaunchPath:
		err = s.tool.Launch(w, r)
	case lti.RegisterPath:
		err = s.tool.Register(w, r)
	case lti.KeysPath:
		var set lti.KeySet
		if set, err = s.tool.KeySet(r.Context()); err == nil {
			_ = json.NewEncoder(w).Encode(set)
		}
	default:
		http.NotFound(w, r)
	}
	if refused, ok := errors.AsType[*lti.Refusal](err); ok {
		http.Error(w, refused.Code, refused.Status)
	} else if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

// answer is what a browser gets.
type answer struct {
	status   int
	location string
	body     string
	cookies  []*http.Cookie
}

// code is that of the problem answered.
func (a answer) code() string {
	if a.status < 400 {
		return ""
	}
	return strings.TrimSpace(a.body)
}

// browse makes a request as a browser does that goes nowhere by itself.
func (s *school) browse(method, address string, form url.Values) answer {
	s.Helper()
	var body io.Reader
	if method == http.MethodPost {
		body = strings.NewReader(form.Encode())
	} else if form != nil {
		address += "?" + form.Encode()
	}
	r, err := http.NewRequestWithContext(s.Context(), method, address, body)
	if err != nil {
		s.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if strings.HasPrefix(address, s.base) {
		for _, c := range s.cookies {
			r.AddCookie(c)
		}
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer func() { _ = response.Body.Close() }()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		s.Fatal(err)
	}
	for _, c := range response.Cookies() {
		s.cookies[c.Name] = c
	}
	return answer{response.StatusCode, response.Header.Get("Location"), string(text), response.Cookies()}
}

func (s *school) loginForm() url.Values {
	return url.Values{
		"iss": {s.URL()}, "login_hint": {"who=ä&b"}, "lti_message_hint": {"hint +/="}, "target_link_uri": {s.base + "/"},
		"client_id": {s.Client}, "lti_deployment_id": {s.Deployment},
	}
}

// login begins a login and returns what the learning system was asked.
func (s *school) login() url.Values {
	s.Helper()
	a := s.browse(http.MethodGet, s.base+lti.LoginPath, s.loginForm())
	if a.status != http.StatusFound {
		s.Fatalf("the login was answered %d %s", a.status, a.body)
	}
	if at := s.browse(http.MethodGet, a.location, nil); at.status != http.StatusOK {
		s.Fatalf("the learning system answered %d", at.status)
	}
	return s.Request()
}

// post posts a token to the tool, with the state of a login.
func (s *school) post(login url.Values, token string) answer {
	s.Helper()
	return s.browse(http.MethodPost, s.base+lti.LaunchPath, url.Values{"id_token": {token}, "state": {login.Get("state")}})
}

// launched is what a launch let somebody in for.
func (s *school) launched(a answer) *lti.Message {
	s.Helper()
	_, secret, found := strings.Cut(a.location, "#lti=")
	if a.status != http.StatusSeeOther || !found {
		s.Fatalf("the launch was answered %d %s %s", a.status, a.location, a.body)
	}
	_, m, err := s.tool.Launched(s.Context(), secret)
	if err != nil {
		s.Fatal(err)
	}
	return m
}
