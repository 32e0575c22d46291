package lti_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/api/outgoing"
)

// deepLinking launches deep linking by a teacher, with settings beside those that must
// be there.
func (s *school) deepLinking(role string, settings map[string]any) *lti.Message {
	s.Helper()
	all := map[string]any{
		"deep_link_return_url": s.URL() + "/chosen?x=1", "accept_types": []string{"link", "ltiResourceLink"},
		"accept_presentation_document_targets": []string{"iframe", "window"},
	}
	for name, value := range settings {
		all[name] = value
	}
	login := s.login()
	claims := s.Launch(login, s.base+"/", role)
	claims[claim+"message_type"] = "LtiDeepLinkingRequest"
	delete(claims, claim+"resource_link")
	claims[ltitest.ClaimDL+"deep_linking_settings"] = all
	return s.launched(s.post(login, s.Sign(claims)))
}

// The answer to deep linking (DL 4.5): signed by us for the learning system, with its
// data as they came.
func TestDeepLinking(t *testing.T) {
	s := newSchool(t)
	m := s.deepLinking(member+"Instructor", map[string]any{"data": "csrf=1&ä\"<", "accept_multiple": true})
	w := httptest.NewRecorder()
	err := s.tool.Choose(w, httptest.NewRequest(http.MethodGet, "/", nil), s.registration, m, lti.Item{
		Title: "Chorale, first phrase", Path: "/assignments", Custom: map[string]string{"assignment": "phrase-1"}, Points: 12, Resource: "phrase-1",
		Closes: time.Date(2027, 1, 15, 12, 0, 0, 0, time.UTC),
	})
	if err != nil {
		t.Fatal(err)
	}
	page := w.Body.String()
	_, after, _ := strings.Cut(page, `name="JWT" value="`)
	token, _, _ := strings.Cut(after, `"`)
	if !strings.Contains(page, `action="`+s.URL()+`/chosen?x=1"`) || !strings.Contains(w.Header().Get("Content-Security-Policy"), "script-src 'sha256-") {
		t.Errorf("the page is %s", page)
	}
	claims, err := s.Verify(token)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]any{
		"iss": s.Client, "aud": "[" + s.URL() + "]", claim + "message_type": "LtiDeepLinkingResponse", claim + "version": "1.3.0",
		claim + "deployment_id": s.Deployment, ltitest.ClaimDL + "data": "csrf=1&ä\"<",
	} {
		if fmt.Sprint(claims[name]) != fmt.Sprint(want) {
			t.Errorf("%s is %v, want %v", name, claims[name], want)
		}
	}
	items, _ := claims[ltitest.ClaimDL+"content_items"].([]any)
	if len(items) != 1 {
		t.Fatalf("%d items", len(items))
	}
	want := fmt.Sprint(map[string]any{
		"type": "ltiResourceLink", "url": s.base + "/assignments", "title": "Chorale, first phrase", "custom": map[string]any{"assignment": "phrase-1"},
		"lineItem":   map[string]any{"label": "Chorale, first phrase", "scoreMaximum": 12, "resourceId": "phrase-1"},
		"submission": map[string]any{"endDateTime": "2027-01-15T12:00:00Z"},
	})
	if got := fmt.Sprint(items[0]); got != want {
		t.Errorf("the item is\n%s, want\n%s", got, want)
	}
	if claims["nonce"] == "" || claims["nonce"] == nil {
		t.Error("the answer has no nonce")
	}
}

func TestWhatDeepLinkingAllows(t *testing.T) {
	s := newSchool(t)
	no := false
	one, two := []lti.Item{{Title: "a", Points: 5}}, []lti.Item{{Title: "a"}, {Title: "b"}}
	for _, c := range []struct {
		why      string
		role     string
		settings map[string]any
		items    []lti.Item
		problem  *lti.Problem // nil where it is allowed
		has, not string
	}{
		{"by a pupil", member + "Learner", nil, one, lti.TeachersOnly, "", ""},
		{"no links to tools", member + "Instructor", map[string]any{"accept_types": []string{"html"}}, one, lti.NotGranted, "", ""},
		{"two where one is taken", member + "Instructor", map[string]any{"accept_multiple": no}, two, lti.NotGranted, "", ""},
		{"two", member + "Instructor", nil, two, nil, "", "lineItem"},
		{"no column where none is made", member + "Instructor", map[string]any{"accept_lineitem": no}, one, nil, "", "lineItem"},
		{"a column where nothing is said", member + "Instructor", nil, one, nil, "lineItem", ltitest.ClaimDL + "data"},
		{"nothing, and data that are empty", member + "Instructor", map[string]any{"data": ""}, nil, nil, ltitest.ClaimDL + "data", "lineItem"},
	} {
		t.Run(c.why, func(t *testing.T) {
			token, err := s.tool.ChoiceToken(t.Context(), s.registration, s.deepLinking(c.role, c.settings), c.items...)
			if c.problem != nil {
				if err == nil || codeOf(err) != c.problem.Code {
					t.Errorf("it gives %v, want %s", err, c.problem.Code)
				}
				return
			}
			claims, err := s.Verify(token)
			if err != nil {
				t.Fatal(err)
			}
			if text := fmt.Sprint(claims); !strings.Contains(text, c.has) || c.not != "" && strings.Contains(text, c.not) {
				t.Errorf("the answer is %s", text)
			}
		})
	}
}

// A launch is no request to choose, and a page of ours is no way out to an address that
// nothing is sent to.
func TestDeepLinkingElsewhere(t *testing.T) {
	s := newSchool(t)
	launch := &lti.Message{Kind: lti.Launch, Roles: []string{"Instructor"}}
	if _, err := s.tool.ChoiceToken(t.Context(), s.registration, launch); err == nil || codeOf(err) != lti.NotGranted.Code {
		t.Errorf("a launch gives %v", err)
	}
	m := s.deepLinking(member+"Instructor", map[string]any{"deep_link_return_url": "javascript:alert(1)"})
	if err := s.tool.Choose(httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, "/", nil), s.registration, m); err == nil || codeOf(err) != lti.PlatformRefuses.Code {
		t.Errorf("a script as the way back gives %v", err)
	}
}

// launch launches by a role.
func (s *school) launch(role string) *lti.Message {
	s.Helper()
	login := s.login()
	return s.launched(s.post(login, s.Sign(s.Launch(login, s.base+"/", role))))
}

// The members come from all pages (NRPS 2.4.2), whoever has left is not among them, and
// the access token is asked for once for a set of scopes.
func TestNamesAndRoles(t *testing.T) {
	s := newSchool(t)
	for i := range 7 {
		status := "Active"
		if i == 3 {
			status = "Inactive"
		}
		s.Members = append(s.Members, map[string]any{"user_id": fmt.Sprint("user-", i), "roles": []string{member + "Learner"}, "status": status, "name": fmt.Sprint("Name ", i)})
	}
	m := s.launch(member + "Instructor")
	for range 2 {
		all, err := s.tool.Members(t.Context(), s.registration, m)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, one := range all {
			got = append(got, one.Subject+"="+one.Name)
		}
		if want := []string{"user-0=Name 0", "user-1=Name 1", "user-2=Name 2", "user-4=Name 4", "user-5=Name 5", "user-6=Name 6"}; !slices.Equal(got, want) {
			t.Errorf("the members are %v", got)
		}
	}
	if n := s.TokensGiven(); n != 1 {
		t.Errorf("%d access tokens were asked for", n)
	}
	if _, err := s.tool.Members(t.Context(), s.registration, s.launch(member+"Learner")); err == nil || codeOf(err) != lti.TeachersOnly.Code {
		t.Errorf("a pupil gets %v", err)
	}
	m.Names = nil
	if _, err := s.tool.Members(t.Context(), s.registration, m); err == nil || codeOf(err) != lti.NotGranted.Code {
		t.Errorf("without the service there is %v", err)
	}
}

// A token that is not known any more is asked for again, once; after its hour it is asked
// for anyway.
func TestAccessTokens(t *testing.T) {
	s := newSchool(t)
	m := s.launch(member + "Instructor")
	ask := func() {
		t.Helper()
		if _, err := s.tool.Members(t.Context(), s.registration, m); err != nil {
			t.Error(err)
		}
	}
	ask()
	s.Revoke()
	ask()
	if n := s.TokensGiven(); n != 2 {
		t.Errorf("after the first was revoked, %d were asked for", n)
	}
	if _, err := s.tool.Result(t.Context(), s.registration, s.Column(), "nobody"); err != nil {
		t.Error(err)
	}
	if n := s.TokensGiven(); n != 3 {
		t.Errorf("for other scopes, %d were asked for", n)
	}
	s.clock.advance(time.Hour)
	ask()
	if n := s.TokensGiven(); n != 4 {
		t.Errorf("an hour later, %d were asked for", n)
	}
}

// The list of members may not send the access token elsewhere, or for ever.
func TestPagesThatLeadAstray(t *testing.T) {
	var next string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/token" {
			_, _ = fmt.Fprint(w, `{"access_token":"t","token_type":"bearer","expires_in":3600}`)
			return
		}
		w.Header().Set("Link", "<"+next+">; rel=\"next\"")
		_, _ = fmt.Fprint(w, `{"members":[]}`)
	}))
	defer server.Close()
	s := newSchool(t)
	r := *s.registration
	r.Token = server.URL + "/token"
	m := &lti.Message{Roles: []string{"Instructor"}, Names: &lti.NamesService{Address: server.URL + "/a"}}
	for _, to := range []string{"http://127.0.0.2:1/a", "/a", server.URL + "/a"} {
		next = to
		if _, err := s.tool.Members(t.Context(), &r, m); err == nil || codeOf(err) != lti.PlatformRefuses.Code {
			t.Errorf("a next page at %s gives %v", to, err)
		}
	}
}

// The column that is coupled to the link is taken; else one that was made before, from
// whatever page; else one is made.
func TestColumns(t *testing.T) {
	s := newSchool(t)
	m := s.launch(member + "Instructor")
	wanted := lti.LineItem{Label: "Chorale", Maximum: 12, Resource: "phrase-1"}
	column := func() string {
		t.Helper()
		at, err := s.tool.Column(t.Context(), s.registration, m, wanted)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	if at := column(); at != s.Column() {
		t.Errorf("the coupled column is %s", at)
	}
	m.Grades.LineItem = ""
	first := column()
	wanted.Resource = "phrase-2"
	second := column()
	if first == second || second != column() || len(s.Columns()) != 2 {
		t.Errorf("columns %s and %s; %d were made", first, second, len(s.Columns()))
	}
	m.Grades.Scopes = []string{lti.ScopeScores}
	if _, err := s.tool.Column(t.Context(), s.registration, m, wanted); err == nil || codeOf(err) != lti.NotGranted.Code {
		t.Errorf("without the scope there is %v", err)
	}
}

// An administrator pastes one address: the learning system is registered with its
// deployment, once, for the organization that was invited.
func TestDynamicRegistration(t *testing.T) {
	s := newSchool(t)
	s.Client, s.Deployment = "tool-of-another-registration", "deployment-9"
	secret := s.kept.Invite("another school")
	address := lti.InvitationAddress(s.base, secret) + "&" + url.Values{
		"openid_configuration": {s.URL() + "/.well-known/openid-configuration"}, "registration_token": {"registration-token-1"},
	}.Encode()
	a := s.browse(http.MethodGet, address, nil)
	if a.status != http.StatusOK || !strings.Contains(a.body, `data-page="close"`) {
		t.Fatalf("answered %d %s", a.status, a.body)
	}
	all, err := s.kept.Registrations(t.Context(), s.URL(), s.Client)
	if err != nil || len(all) != 1 || all[0].Organization != "another school" {
		t.Fatalf("registered are %+v, %v", all, err)
	}
	s.registration = &all[0]
	s.launch(member + "Learner") // with the deployment that came with it
	if a := s.browse(http.MethodGet, address, nil); a.code() != lti.NotInvited.Code {
		t.Errorf("the second time it is answered %d %s", a.status, a.code())
	}
}

func TestRegistrationsThatAreRefused(t *testing.T) {
	s := newSchool(t)
	said := ""
	liar := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = fmt.Fprint(w, said) }))
	defer liar.Close()
	complete := `{"issuer":"%s","authorization_endpoint":"%s","token_endpoint":"%[1]s/t","jwks_uri":"%[1]s/k","registration_endpoint":"%[1]s/r"}`
	for _, c := range []struct{ why, said, at, invitation, code string }{
		{"no invitation", "", liar.URL, "guessed", lti.NotInvited.Code},
		{"no address", "", "", "", lti.LoginIncomplete.Code},
		{"an address inside of the network", "", "http://10.0.0.1/x", "", lti.PlatformRefuses.Code},
		{"not JSON", "<html>", liar.URL, "", lti.UnusableRegistration.Code},
		{"speaking for another", fmt.Sprintf(complete, "https://school.example.org", liar.URL), liar.URL, "", lti.UnusableRegistration.Code},
		{"an endpoint that is none", fmt.Sprintf(complete, liar.URL, "javascript:alert(1)"), liar.URL, "", lti.UnusableRegistration.Code},
		{"no client id", fmt.Sprintf(complete, liar.URL, liar.URL), liar.URL, "", lti.UnusableRegistration.Code},
	} {
		t.Run(c.why, func(t *testing.T) {
			said = c.said
			invitation := c.invitation
			if invitation == "" {
				invitation = s.kept.Invite("a school")
			}
			q := url.Values{"invitation": {invitation}}
			if c.at != "" {
				q.Set("openid_configuration", c.at)
			}
			if a := s.browse(http.MethodGet, s.base+lti.RegisterPath, q); a.code() != c.code {
				t.Errorf("answered %d %s, want %s", a.status, a.code(), c.code)
			}
		})
	}
}

// Requests to learning systems go through the guard that webhooks have: a school that
// has its system inside lets the block through.
func TestNothingIsAskedInside(t *testing.T) {
	s := newSchool(t, func(c *lti.Config) {
		c.Guard, c.Plain = outgoing.Guard{}, true
		c.Client = outgoing.NewClient(c.Guard, nil, time.Second)
	})
	login := s.login()
	if a := s.post(login, s.Sign(s.Launch(login, s.base+"/", member+"Learner"))); a.code() != lti.PlatformFails.Code {
		t.Errorf("keys inside of the network are answered %d %s", a.status, a.code())
	}
	if n := s.KeyFetches(); n != 0 {
		t.Errorf("they were read %d times", n)
	}
}

// What a token says is read without trust: nothing that is signed makes the reader fail
// otherwise than by a problem.
func FuzzClaims(f *testing.F) {
	f.Add(`{"iss":"x","aud":["a","b"],"azp":"a","exp":1,"iat":1e3,"nonce":"n"}`)
	f.Add(`{"https://purl.imsglobal.org/spec/lti/claim/roles":[],"https://purl.imsglobal.org/spec/lti/claim/version":"1.3.0","https://purl.imsglobal.org/spec/lti/claim/message_type":"LtiResourceLinkRequest"}`)
	f.Add(`{"aud":null,"exp":-1e999}`)
	f.Add(`[]`)
	kept := &ltitest.Memory{}
	tool, err := lti.New(lti.Config{Store: kept, Base: "https://tool.example.org", Client: http.DefaultClient})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := tool.ReadClaims([]byte(text))
		if (m == nil) == (err == nil) {
			t.Fatalf("%+v and %v", m, err)
		}
		if err != nil && !strings.HasPrefix(codeOf(err), "lti-") {
			t.Errorf("%v is no problem", err)
		}
	})
}

// FuzzToken throws texts at the reader of tokens: none gets in without the key.
func FuzzToken(f *testing.F) {
	claims := jwt.MapClaims{"iss": "x"}
	f.Add(ltitest.SignBy(f, jwt.SigningMethodRS256, "k", ltitest.Keys()[1], claims))
	f.Add(ltitest.SignBy(f, jwt.SigningMethodNone, "k", jwt.UnsafeAllowNoneSignatureType, claims))
	f.Add("a.b.c")
	f.Add("")
	key := &ltitest.Keys()[0].PublicKey
	f.Fuzz(func(t *testing.T, token string) {
		if err := lti.VerifyToken(token, key); err == nil || !strings.HasPrefix(codeOf(err), "lti-") {
			t.Errorf("%q gives %v", token, err)
		}
	})
}
