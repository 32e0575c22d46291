package lti_test

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"partwright/api/lti"
	"partwright/api/lti/ltitest"
)

const (
	claim    = ltitest.Claim
	member   = ltitest.Membership
	hmacText = "a secret of 32 bytes for the test"
)

// What is to be refused, after the topics of 1EdTech's LTI Advantage Conformance
// Certification Guide, "bad payloads" (from memory), with cases of our own; each has a
// problem of its own, which stands beside it. The checks themselves name their sources.
func TestLaunchesThatAreRefused(t *testing.T) {
	cases := []struct {
		why     string
		problem *lti.Problem
		change  func(s *school, c jwt.MapClaims)
		token   func(s *school, c jwt.MapClaims) string // nil for one signed as it should be
	}{
		{why: "no key id", problem: lti.MissingKeyID, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodRS256, "", ltitest.Keys()[0], c)
		}},
		{why: "the id of no key", problem: lti.UnknownKey, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodRS256, "forged", ltitest.Keys()[0], c)
		}},
		{why: "signed by another key under the id of the right one", problem: lti.WrongSignature, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodRS256, "platform-key-1", ltitest.Keys()[1], c)
		}},
		{why: "changed after it was signed", problem: lti.WrongSignature, token: func(s *school, c jwt.MapClaims) string {
			parts := strings.Split(s.Sign(c), ".")
			c["sub"] = "somebody-else"
			parts[1] = strings.Split(s.Sign(c), ".")[1]
			return strings.Join(parts, ".")
		}},
		{why: "signed by RS512", problem: lti.WrongAlgorithm, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodRS512, "platform-key-1", ltitest.Keys()[0], c)
		}},
		{why: "signed by a shared secret", problem: lti.WrongAlgorithm, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodHS256, "platform-key-1", []byte(hmacText), c)
		}},
		{why: "not signed at all", problem: lti.WrongAlgorithm, token: func(s *school, c jwt.MapClaims) string {
			return ltitest.SignBy(s, jwt.SigningMethodNone, "platform-key-1", jwt.UnsafeAllowNoneSignatureType, c)
		}},
		{why: "a header with an extension that must be understood", problem: lti.MalformedToken, token: func(s *school, c jwt.MapClaims) string {
			token := jwt.NewWithClaims(jwt.SigningMethodRS256, c)
			token.Header["kid"], token.Header["crit"] = "platform-key-1", []string{"b64"}
			text, err := token.SignedString(ltitest.Keys()[0])
			if err != nil {
				s.Fatal(err)
			}
			return text
		}},
		{why: "no token", problem: lti.MalformedToken, token: func(*school, jwt.MapClaims) string { return "" }},
		{why: "a message that is no token", problem: lti.MalformedToken, token: func(*school, jwt.MapClaims) string { return "{}" }},
		{why: "claims that are no object", problem: lti.MalformedToken, token: func(s *school, c jwt.MapClaims) string {
			return strings.Split(s.Sign(c), ".")[0] + ".W10." + strings.Split(s.Sign(c), ".")[2]
		}},

		{why: "another issuer", problem: lti.WrongIssuer, change: set("iss", "https://elsewhere.example.org")},
		{why: "the issuer with a slash more", problem: lti.WrongIssuer, change: func(s *school, c jwt.MapClaims) { c["iss"] = s.URL() + "/" }},
		{why: "no issuer", problem: lti.WrongIssuer, change: without("iss")},
		{why: "another audience", problem: lti.WrongAudience, change: set("aud", "tool-2")},
		{why: "no audience", problem: lti.WrongAudience, change: without("aud")},
		{why: "an audience of numbers", problem: lti.MalformedClaim, change: set("aud", []int{1})},
		{why: "several audiences and no authorized party", problem: lti.WrongParty, change: set("aud", []string{"tool-1", "tool-2"})},
		{why: "several audiences and another party", problem: lti.WrongParty, change: func(_ *school, c jwt.MapClaims) { c["aud"], c["azp"] = []string{"tool-1", "tool-2"}, "tool-2" }},
		{why: "one audience and another party", problem: lti.WrongParty, change: set("azp", "tool-2")},

		{why: "expired", problem: lti.Expired, change: func(s *school, c jwt.MapClaims) { c["exp"] = s.clock.Now().Add(-2 * time.Minute).Unix() }},
		{why: "no time of expiry", problem: lti.MissingTime, change: without("exp")},
		{why: "no time of issue", problem: lti.MissingTime, change: without("iat")},
		{why: "issued in the future", problem: lti.IssuedLater, change: func(s *school, c jwt.MapClaims) { c["iat"] = s.clock.Now().Add(2 * time.Minute).Unix() }},
		{why: "issued too long ago", problem: lti.IssuedLongAgo, change: func(s *school, c jwt.MapClaims) { c["iat"] = s.clock.Now().Add(-time.Hour).Unix() }},
		{why: "times that are no numbers", problem: lti.MalformedClaim, change: set("exp", "tomorrow")},
		{why: "a time past all years", problem: lti.MalformedClaim, change: set("exp", 1e300)},

		{why: "another nonce", problem: lti.WrongNonce, change: set("nonce", "another")},
		{why: "no nonce", problem: lti.WrongNonce, change: without("nonce")},
		{why: "a name in capitals is another claim", problem: lti.WrongNonce, change: func(_ *school, c jwt.MapClaims) { c["NONCE"] = c["nonce"]; delete(c, "nonce") }},

		{why: "another version", problem: lti.WrongVersion, change: set(claim+"version", "11.3.0")},
		{why: "no version", problem: lti.WrongVersion, change: without(claim + "version")},
		{why: "another message", problem: lti.WrongMessageType, change: set(claim+"message_type", "LtiSubmissionReviewRequest")},
		{why: "no message type", problem: lti.MissingMessageType, change: without(claim + "message_type")},
		{why: "another deployment", problem: lti.UnknownDeployment, change: set(claim+"deployment_id", "deployment-2")},
		{why: "no deployment", problem: lti.MissingDeployment, change: without(claim + "deployment_id")},
		{why: "no roles", problem: lti.MissingRoles, change: without(claim + "roles")},
		{why: "roles that are null", problem: lti.MissingRoles, change: set(claim+"roles", nil)},
		{why: "roles that are no list", problem: lti.MalformedClaim, change: set(claim+"roles", "Learner")},
		{why: "no link", problem: lti.MissingResourceLink, change: without(claim + "resource_link")},
		{why: "a link without id", problem: lti.MissingResourceLink, change: set(claim+"resource_link", map[string]any{"title": "x"})},
		{why: "a link whose id is too long", problem: lti.MalformedClaim, change: set(claim+"resource_link", map[string]any{"id": strings.Repeat("x", 256)})},
		{why: "no target", problem: lti.MissingTarget, change: without(claim + "target_link_uri")},
		{why: "a target elsewhere", problem: lti.ForeignTarget, change: set(claim+"target_link_uri", "https://elsewhere.example.org/")},
		{why: "a target that only begins like ours", problem: lti.ForeignTarget, change: func(s *school, c jwt.MapClaims) { c[claim+"target_link_uri"] = s.base + "@elsewhere.example.org/" }},
		{why: "nobody in particular", problem: lti.MissingSubject, change: without("sub")},
		{why: "a subject that is too long", problem: lti.MalformedClaim, change: set("sub", strings.Repeat("x", 256))},
		{why: "deep linking that does not say where to", problem: lti.MissingSettings, change: set(claim+"message_type", "LtiDeepLinkingRequest")},
	}
	seen := map[string]bool{}
	for _, c := range cases {
		seen[c.problem.Code] = true
		t.Run(c.why, func(t *testing.T) {
			s := newSchool(t)
			login := s.login()
			claims := s.Launch(login, s.base+"/", member+"Learner")
			if c.change != nil {
				c.change(s, claims)
			}
			token := ""
			if c.token != nil {
				token = c.token(s, claims)
			} else {
				token = s.Sign(claims)
			}
			if a := s.post(login, token); a.code() != c.problem.Code {
				t.Errorf("answered %d %s %s, want %s", a.status, a.location, a.code(), c.problem.Code)
			}
			// It used nothing up: the right one still gets in.
			s.launched(s.post(login, s.Sign(s.Launch(login, s.base+"/", member+"Learner"))))
		})
	}
	for _, p := range []*lti.Problem{
		lti.WrongSignature, lti.IssuedLater, lti.WrongAudience, lti.WrongNonce, lti.Expired, lti.UnknownKey, lti.UnknownDeployment, lti.WrongIssuer,
	} {
		if !seen[p.Code] {
			t.Errorf("%s was not tried", p.Code)
		}
	}
}

func set(name string, value any) func(*school, jwt.MapClaims) {
	return func(_ *school, c jwt.MapClaims) { c[name] = value }
}

func without(name string) func(*school, jwt.MapClaims) {
	return func(_ *school, c jwt.MapClaims) { delete(c, name) }
}

// Who gets in, after the same guide's "valid teacher launches" and "valid student
// launches". Nothing personal is needed, and nothing is kept.
func TestLaunchesThatGetIn(t *testing.T) {
	for _, who := range []struct {
		name, role, short, other string
		teacher, pupil           bool
	}{
		{"teacher", member + "Instructor", "Instructor", "http://purl.imsglobal.org/vocab/lis/v2/institution/person#Faculty", true, false},
		{"pupil", member + "Learner", "Learner", "http://purl.imsglobal.org/vocab/lis/v2/institution/person#Student", false, true},
	} {
		for _, c := range []struct {
			why    string
			change func(*school, jwt.MapClaims)
			nobody bool // roles that say nothing
		}{
			{why: "plain"},
			{why: "several roles", change: set(claim+"roles", []string{who.other, who.role})},
			{why: "a short role", change: set(claim+"roles", []string{who.short})},
			{why: "an unknown role", change: set(claim+"roles", []string{"http://example.org/roles#Organist"}), nobody: true},
			{why: "an unknown role beside a known one", change: set(claim+"roles", []string{"http://example.org/roles#Organist", who.role})},
			{why: "no role in the course", change: set(claim+"roles", []string{who.other}), nobody: true},
			{why: "an empty list of roles", change: set(claim+"roles", []string{}), nobody: true},
			{why: "an address only", change: personal(map[string]any{"email": "p@example.org"})},
			{why: "names only", change: personal(map[string]any{"name": "Given Family", "given_name": "Given", "family_name": "Family"})},
			{why: "nothing personal", change: personal(nil)},
			{why: "an address and no course", change: func(s *school, c jwt.MapClaims) {
				personal(map[string]any{"email": "p@example.org"})(s, c)
				delete(c, claim+"context")
			}},
			{why: "several audiences with ours as the party", change: func(_ *school, c jwt.MapClaims) { c["aud"], c["azp"] = []string{"tool-2", "tool-1"}, "tool-1" }},
			{why: "clocks that differ by half a minute", change: func(s *school, c jwt.MapClaims) {
				c["iat"], c["exp"] = s.clock.Now().Add(30*time.Second).Unix(), s.clock.Now().Add(-30*time.Second).Unix()
			}},
			{why: "times with parts of seconds", change: func(s *school, c jwt.MapClaims) { c["iat"] = float64(s.clock.Now().UnixMilli()) / 1000 }},
			{why: "claims that nobody knows", change: set("https://example.org/claim", map[string]any{"color": "violet"})},
		} {
			t.Run(who.name+"/"+c.why, func(t *testing.T) {
				s := newSchool(t)
				login := s.login()
				claims := s.Launch(login, s.base+"/", who.role)
				if c.change != nil {
					c.change(s, claims)
				}
				m := s.launched(s.post(login, s.Sign(claims)))
				if m.Teacher() != (who.teacher && !c.nobody) || m.Pupil() != (who.pupil && !c.nobody) {
					t.Errorf("taken for teacher %v, pupil %v", m.Teacher(), m.Pupil())
				}
				if m.Kind != lti.Launch || m.Subject != "a6d5c443" || m.Link != "link-1" || m.Custom["assignment"] != "phrase-1" || m.Grades.LineItem != s.Column() {
					t.Errorf("launched %+v", m)
				}
			})
		}
	}
}

func personal(data map[string]any) func(*school, jwt.MapClaims) {
	return func(_ *school, c jwt.MapClaims) { maps.Copy(c, data) }
}

// Roles in a course and their parts (Core A.2.2 and A.2.3, from memory): a role in a
// school, or of somebody who only writes contents, opens no marks.
func TestRoles(t *testing.T) {
	const vocabulary = "http://purl.imsglobal.org/vocab/lis/v2/"
	for role, want := range map[string][2]bool{
		vocabulary + "membership#Instructor":                    {true, false},
		vocabulary + "membership#Administrator":                 {true, false},
		vocabulary + "membership/Instructor#TeachingAssistant":  {true, false},
		vocabulary + "membership#Learner":                       {false, true},
		vocabulary + "membership/Learner#NonCreditLearner":      {false, true},
		vocabulary + "membership#Mentor":                        {false, false},
		vocabulary + "membership#ContentDeveloper":              {false, false},
		vocabulary + "institution/person#Instructor":            {false, false},
		vocabulary + "system/person#Administrator":              {false, false},
		"http://example.org/vocab/lis/v2/membership#Instructor": {false, false},
		"Instructor": {true, false}, "Learner": {false, true}, "instructor": {false, false}, "": {false, false},
	} {
		m := &lti.Message{Roles: []string{role}}
		if got := [2]bool{m.Teacher(), m.Pupil()}; got != want {
			t.Errorf("%q: teacher and pupil are %v, want %v", role, got, want)
		}
	}
}

// A launch without sub is anonymous (Core 5.3.6.1), for a tool that lets those in.
func TestAnonymousLaunch(t *testing.T) {
	s := newSchool(t, func(c *lti.Config) { c.Anonymous = true })
	login := s.login()
	claims := s.Launch(login, s.base+"/", member+"Learner")
	delete(claims, "sub")
	if m := s.launched(s.post(login, s.Sign(claims))); m.Subject != "" {
		t.Errorf("nobody is %q", m.Subject)
	}
}

// The login of OIDC 4 by GET and POST: the hints go back as they came, and the platform
// of the test checks everything else.
func TestLogin(t *testing.T) {
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		t.Run(method, func(t *testing.T) {
			s := newSchool(t)
			a := s.browse(method, s.base+lti.LoginPath, s.loginForm())
			if a.status != http.StatusFound {
				t.Fatalf("answered %d %s", a.status, a.body)
			}
			s.browse(http.MethodGet, a.location, nil)
			if q := s.Request(); q.Get("login_hint") != "who=ä&b" || q.Get("lti_message_hint") != "hint +/=" {
				t.Errorf("the hints came back as %v", q)
			}
			if len(a.cookies) != 1 {
				t.Fatalf("%d cookies", len(a.cookies))
			}
			c := a.cookies[0]
			if !strings.HasPrefix(c.Name, "__Host-") || !c.Secure || !c.HttpOnly || !c.Partitioned || c.SameSite != http.SameSiteNoneMode || c.Path != "/" || c.Domain != "" {
				t.Errorf("the cookie is %s", c.Raw)
			}
		})
	}
	s := newSchool(t)
	form := s.loginForm()
	form.Del("lti_message_hint")
	s.browse(http.MethodGet, s.browse(http.MethodGet, s.base+lti.LoginPath, form).location, nil)
	if _, sent := s.Request()["lti_message_hint"]; sent {
		t.Error("a hint went back that never came")
	}
}

func TestLoginsThatAreRefused(t *testing.T) {
	for _, c := range []struct {
		why     string
		change  func(*school, url.Values)
		problem *lti.Problem
	}{
		{"no issuer", func(_ *school, f url.Values) { f.Del("iss") }, lti.LoginIncomplete},
		{"no hint", func(_ *school, f url.Values) { f.Del("login_hint") }, lti.LoginIncomplete},
		{"no target", func(_ *school, f url.Values) { f.Del("target_link_uri") }, lti.LoginIncomplete},
		{"two issuers", func(_ *school, f url.Values) { f.Add("iss", "https://elsewhere.example.org") }, lti.LoginIncomplete},
		{"an issuer that nobody knows", func(_ *school, f url.Values) { f.Set("iss", "https://elsewhere.example.org") }, lti.UnknownPlatform},
		{"a client id that nobody knows", func(_ *school, f url.Values) { f.Set("client_id", "tool-9") }, lti.UnknownPlatform},
		{"a hint without end", func(_ *school, f url.Values) { f.Set("lti_message_hint", strings.Repeat("x", 5<<10)) }, lti.LoginIncomplete},
		{"which of two registrations", func(s *school, f url.Values) {
			other := s.Registration("a school")
			other.ClientID = "tool-2"
			if _, err := s.kept.Register(s.Context(), other); err != nil {
				s.Fatal(err)
			}
			f.Del("client_id")
		}, lti.ClientNeeded},
	} {
		t.Run(c.why, func(t *testing.T) {
			s := newSchool(t)
			form := s.loginForm()
			c.change(s, form)
			if a := s.browse(http.MethodPost, s.base+lti.LoginPath, form); a.code() != c.problem.Code {
				t.Errorf("answered %d %s, want %s", a.status, a.code(), c.problem.Code)
			}
		})
	}
}

// A login counts once, for minutes, in the browser where it began.
func TestLoginCountsOnce(t *testing.T) {
	s := newSchool(t)
	login := s.login()
	token := s.Sign(s.Launch(login, s.base+"/", member+"Learner"))
	cookies := maps.Clone(s.cookies)
	s.launched(s.post(login, token))
	s.cookies = cookies
	if a := s.post(login, token); a.code() != lti.Replayed.Code {
		t.Errorf("posted again it is answered %d %s", a.status, a.code())
	}
	// The nonce of a used login is of no use for another.
	other := s.login()
	if a := s.post(other, token); a.code() != lti.WrongNonce.Code {
		t.Errorf("posted to another login it is answered %d %s", a.status, a.code())
	}
	if a := s.browse(http.MethodPost, s.base+lti.LaunchPath, url.Values{"id_token": {token}, "state": {"made up"}}); a.code() != lti.UnknownLogin.Code {
		t.Errorf("to no login it is answered %d %s", a.status, a.code())
	}
	late := s.login()
	s.clock.advance(11 * time.Minute)
	if a := s.post(late, s.Sign(s.Launch(late, s.base+"/", member+"Learner"))); a.code() != lti.UnknownLogin.Code {
		t.Errorf("after eleven minutes it is answered %d %s", a.status, a.code())
	}
	refused := s.login()
	if a := s.browse(http.MethodPost, s.base+lti.LaunchPath, url.Values{"error": {"login_required"}, "state": {refused.Get("state")}}); a.code() != lti.LoginRefused.Code {
		t.Errorf("an error of the learning system is answered %d %s", a.status, a.code())
	}
	stolen := s.login()
	for _, c := range s.cookies {
		c.Value = "of another browser"
	}
	if a := s.post(stolen, s.Sign(s.Launch(stolen, s.base+"/", member+"Learner"))); a.code() != lti.OtherBrowser.Code {
		t.Errorf("in another browser it is answered %d %s", a.status, a.code())
	}
}

// Of many posts of one launch at once, one gets in.
func TestOneOfManyAtOnceGetsIn(t *testing.T) {
	s := newSchool(t)
	login := s.login()
	token := s.Sign(s.Launch(login, s.base+"/", member+"Learner"))
	l, err := s.kept.Login(t.Context(), login.Get("state"))
	if err != nil {
		t.Fatal(err)
	}
	var in sync.WaitGroup
	first := make(chan bool, 16)
	for range cap(first) {
		in.Go(func() {
			if _, err := s.tool.Validate(t.Context(), s.registration, l, token); err != nil {
				t.Error(err)
			}
			once, err := s.kept.UseLogin(t.Context(), l.State)
			if err != nil {
				t.Error(err)
			}
			first <- once
		})
	}
	in.Wait()
	close(first)
	got := 0
	for once := range first {
		if once {
			got++
		}
	}
	if got != 1 {
		t.Errorf("%d got in", got)
	}
}

// After a launch the browser is sent on, so that loading again posts nothing; the secret
// stands in the fragment, which no server sees (RFC 9110, 4.2.5).
func TestRedirectAfterPost(t *testing.T) {
	s := newSchool(t)
	login := s.login()
	a := s.post(login, s.Sign(s.Launch(login, s.base+"/assignments?x=1", member+"Learner")))
	target, err := url.Parse(a.location)
	if err != nil || a.status != http.StatusSeeOther || target.Path != "/assignments" || target.RawQuery != "x=1" || !strings.HasPrefix(target.Fragment, "lti=") {
		t.Fatalf("sent on %d to %s, %v", a.status, a.location, err)
	}
	s.clock.advance(9 * time.Hour)
	if _, _, err := s.tool.Launched(t.Context(), strings.TrimPrefix(target.Fragment, "lti=")); lti.NoSession.Code != codeOf(err) {
		t.Errorf("after nine hours the session gives %v", err)
	}
}

func codeOf(err error) string {
	code, _, _ := strings.Cut(err.Error(), ":")
	return code
}

// Where the frame has no cookies, the learning system's window keeps the secret, and
// where it keeps nothing a window of our own is offered (Storage 0.1).
func TestFrameWithoutCookies(t *testing.T) {
	s := newSchool(t)
	form := s.loginForm()
	form.Set("lti_storage_target", `post_message_"<forwarding>`)
	a := s.browse(http.MethodGet, s.base+lti.LoginPath, form)
	if a.status != http.StatusOK || !strings.Contains(a.body, `data-page="store"`) || strings.Contains(a.body, "<forwarding>") {
		t.Fatalf("the login was answered %d %s", a.status, a.body)
	}
	address, secret := attribute(t, a.body, "data-address"), attribute(t, a.body, "data-secret")
	if attribute(t, a.body, "data-origin") != s.URL() {
		t.Errorf("messages go to %s", attribute(t, a.body, "data-origin"))
	}
	s.browse(http.MethodGet, address, nil)
	login := s.Request()
	s.cookies = map[string]*http.Cookie{}
	token := s.Sign(s.Launch(login, s.base+"/", member+"Learner"))
	a = s.post(login, token)
	if a.status != http.StatusOK || !strings.Contains(a.body, `data-page="fetch"`) || !strings.Contains(a.body, "lti_message_hint") {
		t.Fatalf("the launch without cookies was answered %d %s", a.status, a.body)
	}
	launch := url.Values{"id_token": {token}, "state": {login.Get("state")}, "browser": {"guessed"}}
	if a := s.browse(http.MethodPost, s.base+lti.LaunchPath, launch); a.code() != lti.OtherBrowser.Code {
		t.Errorf("a secret that was guessed is answered %d %s", a.status, a.code())
	}
	launch.Set("browser", secret)
	s.launched(s.browse(http.MethodPost, s.base+lti.LaunchPath, launch))

	other := s.login()
	s.cookies = map[string]*http.Cookie{}
	a = s.post(other, s.Sign(s.Launch(other, s.base+"/", member+"Learner")))
	if a.status != http.StatusOK || !strings.Contains(a.body, `data-page="window"`) || !strings.Contains(a.body, `target="_blank"`) {
		t.Errorf("without cookies and storage the launch was answered %d %s", a.status, a.body)
	}
}

// attribute reads one of a page.
func attribute(t *testing.T, page, name string) string {
	t.Helper()
	_, after, found := strings.Cut(page, name+`="`)
	value, _, closed := strings.Cut(after, `"`)
	if !found || !closed {
		t.Fatalf("the page has no %s: %s", name, page)
	}
	return strings.NewReplacer("&amp;", "&", "&#43;", "+", "&#34;", `"`, "&lt;", "<", "&gt;", ">").Replace(value)
}

// However many tokens name unknown keys, the keys are read once in the least interval; a
// key that is new is found when that is over (Security 6.3).
func TestUnknownKeysFetchOnce(t *testing.T) {
	s := newSchool(t)
	login := s.login()
	claims := s.Launch(login, s.base+"/", member+"Learner")
	for i := range 50 {
		token := ltitest.SignBy(t, jwt.SigningMethodRS256, "forged-"+string(rune('a'+i%26)), ltitest.Keys()[1], claims)
		if a := s.post(login, token); a.code() != lti.UnknownKey.Code {
			t.Fatalf("answered %d %s", a.status, a.code())
		}
	}
	if n := s.KeyFetches(); n != 1 {
		t.Errorf("the keys were read %d times", n)
	}
	s.Rotate("platform-key-2")
	s.clock.advance(31 * time.Second)
	claims["iat"], claims["exp"] = s.clock.Now().Unix(), s.clock.Now().Add(time.Minute).Unix()
	s.launched(s.post(login, s.Sign(claims)))
	if n := s.KeyFetches(); n != 2 {
		t.Errorf("after a new key the keys were read %d times", n)
	}
}

// Our keys: a new one is served for a day before it signs, and the old one for a month
// after it.
func TestRotationOfOurKeys(t *testing.T) {
	s := newSchool(t)
	names := func() (all []string) {
		set, err := s.tool.KeySet(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range set.Keys {
			all = append(all, k.ID)
		}
		return all
	}
	signer := func() string {
		m := &lti.Message{Kind: lti.DeepLinking, Roles: []string{"Instructor"}, Choice: &lti.Choice{}}
		text, err := s.tool.ChoiceToken(t.Context(), s.registration, m)
		if err != nil {
			t.Fatal(err)
		}
		token, _, err := jwt.NewParser().ParseUnverified(text, jwt.MapClaims{})
		if err != nil {
			t.Fatal(err)
		}
		return token.Header["kid"].(string)
	}
	first := names()
	if len(first) != 1 || signer() != first[0] {
		t.Fatalf("at first %v are served and %s signs", first, signer())
	}
	s.clock.advance(91 * 24 * time.Hour)
	second := names()
	if len(second) != 2 || signer() != first[0] {
		t.Errorf("when a new one has come %v are served and %s signs", second, signer())
	}
	s.clock.advance(25 * time.Hour)
	if signer() != second[1] || !slices.Equal(names(), second) {
		t.Errorf("a day later %v are served and %s signs", names(), signer())
	}
	s.clock.advance(91 * 24 * time.Hour)
	if third := names(); len(third) != 2 || third[0] != second[1] {
		t.Errorf("when a third has come %v are served", third)
	}
}

// A deployment must be known where the login named none, and be the one that it named
// where it did (Core 3.1.3 and 4.1.2, from memory).
func TestDeployments(t *testing.T) {
	for _, c := range []struct {
		why, atLogin, atLaunch, code string
	}{
		{"known, none named", "", "deployment-1", ""},
		{"unknown, none named", "", "deployment-3", lti.UnknownDeployment.Code},
		{"known, another named", "deployment-1", "deployment-2", lti.UnknownDeployment.Code},
		{"known and named", "deployment-2", "deployment-2", ""},
	} {
		t.Run(c.why, func(t *testing.T) {
			s := newSchool(t)
			other := s.Registration("a school")
			other.ClientID = "tool-of-two"
			if _, err := s.kept.Register(t.Context(), other, "deployment-1", "deployment-2"); err != nil {
				t.Fatal(err)
			}
			s.Client, s.Deployment = other.ClientID, c.atLogin
			login := s.login()
			claims := s.Launch(login, s.base+"/", member+"Learner")
			claims[claim+"deployment_id"] = c.atLaunch
			if a := s.post(login, s.Sign(claims)); a.code() != c.code {
				t.Errorf("answered %d %s, want %q", a.status, a.code(), c.code)
			}
		})
	}
}
