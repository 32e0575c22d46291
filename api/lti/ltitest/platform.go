// Package ltitest plays a learning system strictly, in the process of a test: whatever a
// tool sends that the standards do not allow is noted as a fault and refused.
package ltitest

import (
	"crypto/rand"
	"crypto/rsa"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/lti"
)

// Names of claims.
const (
	Claim       = "https://purl.imsglobal.org/spec/lti/claim/"
	ClaimDL     = "https://purl.imsglobal.org/spec/lti-dl/claim/"
	ClaimNames  = "https://purl.imsglobal.org/spec/lti-nrps/claim/namesroleservice"
	ClaimGrades = "https://purl.imsglobal.org/spec/lti-ags/claim/endpoint"
	Membership  = "http://purl.imsglobal.org/vocab/lis/v2/membership#"
)

// Platform is a learning system with one course, one link and one column.
type Platform struct {
	t      testing.TB
	server *httptest.Server
	mux    *http.ServeMux
	// Client and Deployment name the tool here.
	Client, Deployment string
	// Clock is nil for [time.Now].
	Clock func() time.Time

	mu          sync.Mutex
	toolKeys    string
	redirect    string
	key         *rsa.PrivateKey
	keyID       string
	faults      []string
	keyFetches  int
	tokens      map[string]string // scopes by token
	tokensGiven int
	assertions  map[string]bool
	requests    []url.Values
	answer      func(http.ResponseWriter, url.Values) // of a login; nil where the test plays the browser
	Members     []map[string]any
	PageSize    int
	grades      gradebook
}

// key is made once: making one takes a while.
var (
	keysOnce sync.Once
	testKeys []*rsa.PrivateKey
)

// Keys returns two keys for tests: the platform's, and one that it does not know.
func Keys() []*rsa.PrivateKey {
	keysOnce.Do(func() {
		for range 2 {
			key, err := rsa.GenerateKey(rand.Reader, 2048)
			if err != nil {
				panic(err) // no randomness
			}
			testKeys = append(testKeys, key)
		}
	})
	return testKeys
}

// NewPlatform starts a learning system that ends with the test, and fails it if the tool
// did anything that the standards do not allow.
func NewPlatform(t testing.TB) *Platform {
	p := &Platform{
		t: t, Client: "tool-1", Deployment: "deployment-1", key: Keys()[0], keyID: "platform-key-1",
		tokens: map[string]string{}, assertions: map[string]bool{}, PageSize: 2,
	}
	p.grades.init()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /keys", p.serveKeys)
	mux.HandleFunc("GET /login", p.authorize)
	mux.HandleFunc("POST /token", p.giveToken)
	mux.HandleFunc("GET /members", p.serveMembers)
	mux.HandleFunc("/columns/", p.serveColumn)
	mux.HandleFunc("/columns", p.serveColumns)
	mux.HandleFunc("GET /.well-known/openid-configuration", p.discovery)
	mux.HandleFunc("POST /register", p.register)
	p.mux = mux
	p.server = httptest.NewServer(mux)
	t.Cleanup(p.server.Close)
	t.Cleanup(func() {
		for _, fault := range p.Faults() {
			t.Errorf("the platform: %s", fault)
		}
	})
	return p
}

// URL is the issuer, and where the learning system is.
func (p *Platform) URL() string { return p.server.URL }

func (p *Platform) now() time.Time {
	if p.Clock != nil {
		return p.Clock()
	}
	return time.Now()
}

// Registration is what the tool must know of this learning system.
func (p *Platform) Registration(organization string) lti.Registration {
	return lti.Registration{
		Organization: organization, Issuer: p.URL(), ClientID: p.Client,
		Authorization: p.URL() + "/login?tenant=a%20b", Token: p.URL() + "/token", Keys: p.URL() + "/keys",
	}
}

// Knows tells the learning system where a tool is.
func (p *Platform) Knows(base string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.toolKeys, p.redirect = base+lti.KeysPath, base+lti.LaunchPath
}

// fault notes what a tool did wrong, and refuses it.
func (p *Platform) fault(w http.ResponseWriter, status int, format string, args ...any) {
	p.mu.Lock()
	p.faults = append(p.faults, fmt.Sprintf(format, args...))
	p.mu.Unlock()
	http.Error(w, "not as the standard has it", status)
}

// Faults returns what the tool did wrong, and forgets it.
func (p *Platform) Faults() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	all := p.faults
	p.faults = nil
	return all
}

// KeyFetches is how often the keys were read; TokensGiven how many access tokens were
// given out.
func (p *Platform) KeyFetches() int  { p.mu.Lock(); defer p.mu.Unlock(); return p.keyFetches }
func (p *Platform) TokensGiven() int { p.mu.Lock(); defer p.mu.Unlock(); return p.tokensGiven }

// Rotate gives the learning system a key of another name.
func (p *Platform) Rotate(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.keyID = id
}

// Revoke makes all access tokens unknown.
func (p *Platform) Revoke() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.tokens = map[string]string{}
}

func (p *Platform) serveKeys(w http.ResponseWriter, _ *http.Request) {
	p.mu.Lock()
	p.keyFetches++
	set := lti.KeySet{Keys: []lti.JWK{lti.NewJWK(p.keyID, &p.key.PublicKey)}}
	p.mu.Unlock()
	writeJSON(w, "application/json", set)
}

func writeJSON(w http.ResponseWriter, kind string, value any) {
	w.Header().Set("Content-Type", kind)
	_ = json.NewEncoder(w).Encode(value) // the client left
}

// authorize holds a login of the tool to what the standard asks for (Security 5.1.1.2;
// OIDC 3.1.2.1) and notes it for the test, which plays the browser unless there is
// a [Platform.Course].
func (p *Platform) authorize(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	for name, want := range map[string]string{
		"scope": "openid", "response_type": "id_token", "response_mode": "form_post", "prompt": "none",
		"client_id": p.Client, "redirect_uri": p.redirect, "tenant": "a b",
	} {
		if got := q[name]; len(got) != 1 || got[0] != want {
			p.fault(w, http.StatusBadRequest, "login: %s is %q, want %q", name, got, want)
			return
		}
	}
	if len(q.Get("state")) < 20 || len(q.Get("nonce")) < 20 || q.Get("state") == q.Get("nonce") {
		p.fault(w, http.StatusBadRequest, "login: state or nonce is missing, short or the same")
		return
	}
	p.mu.Lock()
	p.requests = append(p.requests, q)
	answer := p.answer
	p.mu.Unlock()
	if answer != nil {
		answer(w, q)
		return
	}
	w.WriteHeader(http.StatusOK)
}

// Request returns the last login that came.
func (p *Platform) Request() url.Values {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.requests) == 0 {
		return url.Values{}
	}
	return p.requests[len(p.requests)-1]
}

// Launch returns the claims of a launch, by a teacher or a pupil, that answers a login.
func (p *Platform) Launch(login url.Values, target string, roles ...string) jwt.MapClaims {
	if roles == nil {
		roles = []string{}
	}
	return jwt.MapClaims{
		"iss": p.URL(), "aud": p.Client, "sub": "a6d5c443", "iat": p.now().Unix(), "exp": p.now().Add(5 * time.Minute).Unix(),
		"nonce": login.Get("nonce"), Claim + "version": "1.3.0", Claim + "message_type": "LtiResourceLinkRequest",
		Claim + "deployment_id": p.Deployment, Claim + "target_link_uri": target, Claim + "roles": roles,
		Claim + "resource_link": map[string]any{"id": "link-1", "title": "Chorale, first phrase"},
		Claim + "context":       map[string]any{"id": "course-1", "title": "Harmony II"},
		Claim + "custom":        map[string]any{"assignment": "phrase-1"},
		ClaimNames:              map[string]any{"context_memberships_url": p.URL() + "/members?course=1", "service_versions": []string{"2.0"}},
		ClaimGrades: map[string]any{
			"scope":    []string{lti.ScopeLineItems, lti.ScopeResults, lti.ScopeScores},
			"lineitem": p.Column(), "lineitems": p.URL() + "/columns?course=1",
		},
	}
}

// Sign makes a token of claims by the learning system's key.
func (p *Platform) Sign(claims jwt.MapClaims) string {
	p.mu.Lock()
	id := p.keyID
	p.mu.Unlock()
	return SignBy(p.t, jwt.SigningMethodRS256, id, p.key, claims)
}

// SignBy makes a token by any method and key; an empty id leaves kid out.
func SignBy(t testing.TB, method jwt.SigningMethod, id string, key any, claims jwt.MapClaims) string {
	t.Helper()
	token := jwt.NewWithClaims(method, claims)
	if id != "" {
		token.Header["kid"] = id
	}
	text, err := token.SignedString(key)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// Verify holds a token of the tool to its key set, and returns its claims.
func (p *Platform) Verify(token string) (jwt.MapClaims, error) {
	claims := jwt.MapClaims{}
	_, err := jwt.ParseWithClaims(token, claims, func(parsed *jwt.Token) (any, error) {
		response, err := http.Get(p.toolKeys) // #nosec G107 -- the tool of the test
		if err != nil {
			return nil, err
		}
		defer func() { _ = response.Body.Close() }()
		var set lti.KeySet
		if err := json.NewDecoder(response.Body).Decode(&set); err != nil {
			return nil, err
		}
		for _, k := range set.Keys {
			if k.ID == parsed.Header["kid"] && k.Type == "RSA" && k.Algorithm == "RS256" && k.Use == "sig" {
				return publicKey(k)
			}
		}
		return nil, fmt.Errorf("the tool serves no key %v", parsed.Header["kid"])
	}, jwt.WithValidMethods([]string{"RS256"}), jwt.WithExpirationRequired(), jwt.WithIssuedAt(), jwt.WithTimeFunc(p.now))
	return claims, err
}

// giveToken holds a request for an access token to Security 4.1.1 and RFC 7523, 3.
func (p *Platform) giveToken(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil || r.PostForm.Get("grant_type") != "client_credentials" ||
		r.PostForm.Get("client_assertion_type") != "urn:ietf:params:oauth:client-assertion-type:jwt-bearer" {
		p.fault(w, http.StatusBadRequest, "token: the form is not as it should be: %v, %v", err, r.PostForm)
		return
	}
	claims, err := p.Verify(r.PostForm.Get("client_assertion"))
	audience, _ := claims.GetAudience()
	id, _ := claims["jti"].(string)
	scopes := strings.Fields(r.PostForm.Get("scope"))
	p.mu.Lock()
	used := p.assertions[id]
	p.assertions[id] = true
	p.mu.Unlock()
	switch {
	case errors.As(err, new(*url.Error)): // the tool is down just now, and its keys with it
		http.Error(w, "the keys cannot be read", http.StatusServiceUnavailable)
	case err != nil:
		p.fault(w, http.StatusBadRequest, "token: the assertion: %v", err)
	case claims["iss"] != p.Client || claims["sub"] != p.Client || !slices.Contains(audience, p.URL()+"/token"):
		p.fault(w, http.StatusBadRequest, "token: the assertion is of %v about %v for %v", claims["iss"], claims["sub"], audience)
	case id == "" || used:
		p.fault(w, http.StatusBadRequest, "token: the assertion's jti %q is missing or was used", id)
	case len(scopes) == 0:
		p.fault(w, http.StatusBadRequest, "token: no scope")
	default:
		token := rand.Text()
		p.mu.Lock()
		p.tokens[token] = strings.Join(scopes, " ")
		p.tokensGiven++
		p.mu.Unlock()
		writeJSON(w, "application/json", map[string]any{"access_token": token, "token_type": "Bearer", "expires_in": 3600, "scope": strings.Join(scopes, " ")})
	}
}

// may reports whether a request carries a token for a scope.
func (p *Platform) may(w http.ResponseWriter, r *http.Request, scope string) bool {
	token, _ := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	p.mu.Lock()
	scopes, known := p.tokens[token]
	p.mu.Unlock()
	switch {
	case token == "":
		p.fault(w, http.StatusUnauthorized, "%s %s came without a token", r.Method, r.URL.Path)
	case !known:
		http.Error(w, "unknown token", http.StatusUnauthorized)
	case !slices.Contains(strings.Fields(scopes), scope):
		p.fault(w, http.StatusForbidden, "%s %s: the token is for %s, not %s", r.Method, r.URL.Path, scopes, scope)
	default:
		return true
	}
	return false
}

// serveMembers pages the members by Link (NRPS 2.4.2).
func (p *Platform) serveMembers(w http.ResponseWriter, r *http.Request) {
	const kind = "application/vnd.ims.lti-nrps.v2.membershipcontainer+json"
	if !p.may(w, r, lti.ScopeNames) {
		return
	}
	if r.Header.Get("Accept") != kind || r.URL.Query().Get("course") != "1" {
		p.fault(w, http.StatusNotAcceptable, "members: accepts %q, query %q", r.Header.Get("Accept"), r.URL.RawQuery)
		return
	}
	page := 0
	_, _ = fmt.Sscan(r.URL.Query().Get("page"), &page)
	from, to := min(page*p.PageSize, len(p.Members)), min((page+1)*p.PageSize, len(p.Members))
	if to < len(p.Members) {
		w.Header().Set("Link", fmt.Sprintf(`<%s/members?course=1&page=0>; rel="first", <%s/members?course=1&page=%d>; rel="next"`, p.URL(), p.URL(), page+1))
	}
	writeJSON(w, kind, map[string]any{"id": p.URL() + "/members", "context": map[string]any{"id": "course-1"}, "members": p.Members[from:to]})
}

// discovery says what the learning system is (DR 3.4).
func (p *Platform) discovery(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, "application/json", map[string]any{
		"issuer": p.URL(), "authorization_endpoint": p.URL() + "/login?tenant=a%20b", "token_endpoint": p.URL() + "/token", "jwks_uri": p.URL() + "/keys",
		"registration_endpoint": p.URL() + "/register", "scopes_supported": lti.Scopes, "response_types_supported": []string{"id_token"},
		"id_token_signing_alg_values_supported": []string{"RS256"},
	})
}

// register holds a registration to DR 3.5.
func (p *Platform) register(w http.ResponseWriter, r *http.Request) {
	var m map[string]any
	if err := json.NewDecoder(r.Body).Decode(&m); err != nil || r.Header.Get("Authorization") != "Bearer registration-token-1" {
		p.fault(w, http.StatusBadRequest, "registration: %v, %q", err, r.Header.Get("Authorization"))
		return
	}
	own, _ := m["https://purl.imsglobal.org/spec/lti-tool-configuration"].(map[string]any)
	base := strings.TrimSuffix(p.redirect, lti.LaunchPath)
	for name, want := range map[string]any{ // #nosec G101 -- what a registration says, no secret
		"application_type": "web", "token_endpoint_auth_method": "private_key_jwt", "initiate_login_uri": base + lti.LoginPath, "jwks_uri": base + lti.KeysPath,
	} {
		if m[name] != want {
			p.fault(w, http.StatusBadRequest, "registration: %s is %v, want %v", name, m[name], want)
			return
		}
	}
	if fmt.Sprint(m["redirect_uris"]) != "["+p.redirect+"]" || own["domain"] != strings.TrimPrefix(base, "http://") || own["claims"] == nil || own["messages"] == nil {
		p.fault(w, http.StatusBadRequest, "registration: %v", m)
		return
	}
	m["client_id"] = p.Client
	own["deployment_id"] = p.Deployment
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(http.StatusCreated)
	_ = json.NewEncoder(w).Encode(m)
}
