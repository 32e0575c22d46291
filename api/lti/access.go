package lti

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Scopes of services (NRPS 3.6.1.2; AGS 3.2 to 3.4).
const (
	ScopeNames     = "https://purl.imsglobal.org/spec/lti-nrps/scope/contextmembership.readonly"
	ScopeLineItems = "https://purl.imsglobal.org/spec/lti-ags/scope/lineitem"
	ScopeResults   = "https://purl.imsglobal.org/spec/lti-ags/scope/result.readonly"
	ScopeScores    = "https://purl.imsglobal.org/spec/lti-ags/scope/score"
)

// Scopes lists what this service asks to be allowed at registration.
var Scopes = []string{ScopeNames, ScopeLineItems, ScopeResults, ScopeScores}

// Bounds on access tokens: one that does not say how long it counts is not kept, one is
// asked for anew before it ends, and none is kept longer than an hour.
const (
	maxAccess   = 64 << 10
	renewBefore = 30 * time.Second
	keptAtMost  = time.Hour
	maxTokens   = 10_000
)

// tokens are access tokens, by registration and scopes.
type tokens struct {
	tool *Tool
	mu   sync.Mutex
	of   map[string]*accessToken
}

type accessToken struct {
	mu    sync.Mutex
	text  string
	until time.Time
}

func (s *tokens) at(r *Registration, scopes []string) *accessToken {
	scopes = slices.Clone(scopes)
	slices.Sort(scopes)
	name := r.ID + " " + strings.Join(slices.Compact(scopes), " ")
	s.mu.Lock()
	defer s.mu.Unlock()
	a := s.of[name]
	if a == nil {
		if s.of == nil || len(s.of) >= maxTokens {
			s.of = map[string]*accessToken{}
		}
		a = &accessToken{}
		s.of[name] = a
	}
	return a
}

// token returns an access token for scopes. Stale is one that was refused, "" for none:
// it is asked for another instead.
func (s *tokens) token(ctx context.Context, r *Registration, stale string, scopes []string) (string, error) {
	a := s.at(r, scopes)
	a.mu.Lock()
	defer a.mu.Unlock()
	now := s.tool.Store.Now()
	if a.text != "" && a.text != stale && now.Before(a.until) {
		return a.text, nil
	}
	text, lasts, err := s.tool.requestToken(ctx, r, scopes)
	if err != nil {
		return "", err
	}
	a.text, a.until = text, now.Add(min(lasts-renewBefore, keptAtMost))
	return text, nil
}

// requestToken asks for an access token with an assertion that we sign (Security 4.1.1;
// RFC 7523, 2.2 and 3).
func (t *Tool) requestToken(ctx context.Context, r *Registration, scopes []string) (text string, lasts time.Duration, err error) {
	audience := r.Audience
	if audience == "" {
		audience = r.Token
	}
	now := t.Store.Now()
	assertion, err := t.keys.sign(ctx, jwt.MapClaims{
		"iss": r.ClientID, "sub": r.ClientID, "aud": audience, "iat": now.Unix(), "exp": now.Add(assertionFor).Unix(), "jti": newSecret(),
	})
	if err != nil {
		return "", 0, err
	}
	request, err := t.request(ctx, http.MethodPost, r.Token, strings.NewReader(url.Values{
		"grant_type":            {"client_credentials"},
		"client_assertion_type": {"urn:ietf:params:oauth:client-assertion-type:jwt-bearer"},
		"client_assertion":      {assertion},
		"scope":                 {strings.Join(scopes, " ")},
	}.Encode()))
	if err != nil {
		return "", 0, err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Accept", "application/json")
	answer, err := t.do(request, maxAccess)
	if err != nil {
		return "", 0, err
	}
	var granted struct {
		Token   string  `json:"access_token"`
		Type    string  `json:"token_type"`
		Expires float64 `json:"expires_in"`
	}
	if json.Unmarshal(answer.body, &granted) != nil || granted.Token == "" || !strings.EqualFold(granted.Type, "bearer") {
		return "", 0, PlatformFails.Because("The learning system's answer holds no access token.")
	}
	return granted.Token, time.Duration(min(max(granted.Expires, 0), keptAtMost.Seconds()*24) * float64(time.Second)), nil
}

// call is one request to a service of a learning system.
type call struct {
	method, address, accept, content string
	body                             []byte
	scopes                           []string
	most                             int64
}

// callService makes a request with an access token; one that is refused as unknown is
// taken for stale, and another is asked for once.
func (t *Tool) callService(ctx context.Context, r *Registration, c call) (*answered, error) {
	stale := ""
	for {
		token, err := t.tokens.token(ctx, r, stale, c.scopes)
		if err != nil {
			return nil, err
		}
		var body io.Reader
		if c.body != nil {
			body = strings.NewReader(string(c.body))
		}
		request, err := t.request(ctx, c.method, c.address, body)
		if err != nil {
			return nil, err
		}
		request.Header.Set("Authorization", "Bearer "+token)
		if c.accept != "" {
			request.Header.Set("Accept", c.accept)
		}
		if c.content != "" {
			request.Header.Set("Content-Type", c.content)
		}
		answer, err := t.do(request, c.most)
		var status *statusError
		if stale != "" || !errors.As(err, &status) || status.status != http.StatusUnauthorized {
			return answer, err
		}
		stale = token
	}
}
