package pagetest_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/golang-jwt/jwt/v5"

	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/api/page/pagetest"
)

// launches is a course of a learning system at 127.0.0.1, which shows the service at
// localhost in a frame: another site for a browser, with cookies of its own.
type launches struct {
	*testing.T
	*ltitest.Course
	base, key, assignment string
	flags                 []chromedp.ExecAllocatorOption
	tab                   *pagetest.Tab // with the course, nil before
}

// newLaunches starts both. Who comes is said by the login_hint: a role, a subject, and the
// link that is followed.
func newLaunches(t *testing.T) *launches {
	t.Helper()
	data, addr, platform := t.TempDir(), pagetest.FreeAddress(t), ltitest.NewPlatform(t)
	_, port, _ := strings.Cut(addr, ":")
	l := &launches{T: t, base: "http://localhost:" + port}
	platform.Knows(l.base)
	l.Course = platform.Course(l.claims)
	organization := pagetest.Partwright(t, "organizations", "create", "--data-dir", data, "Evening school")
	l.key = pagetest.Partwright(t, "keys", "create", "--data-dir", data, "--scopes", "classes,hand-ins", organization)
	r := platform.Registration(organization)
	registration := pagetest.Partwright(t, "lti", "add", "--data-dir", data, "--issuer", r.Issuer, "--client-id", r.ClientID, "--login-url", r.Authorization,
		"--token-url", r.Token, "--keys-url", r.Keys, "--deployment", platform.Deployment, organization)
	pagetest.ServeAt(t, addr, "--accounts", "--data-dir", data, "--lti-url", l.base, "--lti-plain", "--lti-allow", "127.0.0.0/8")
	var made struct{ ID string }
	if err := json.Unmarshal(sendAs(t, l.key, http.MethodPost, l.base+"/v1/assignments", "application/json", []byte(quiz)), &made); err != nil {
		t.Fatal(err)
	}
	l.assignment = made.ID
	teacher := gradebook.ReferenceOf(registration, "teacher-1")
	sendAs(t, l.key, http.MethodPut, l.base+"/v1/assignments/"+l.assignment+"/teachers/"+teacher, "", nil)
	return l
}

// claims are what the learning system says of who comes.
func (l *launches) claims(login url.Values) jwt.MapClaims {
	var role, subject, link string
	if _, err := fmt.Sscan(login.Get("login_hint"), &role, &subject, &link); err != nil {
		l.Error(err)
	}
	m := l.Launch(login, l.base+"/", ltitest.Membership+role)
	m["sub"] = subject
	delete(m, ltitest.Claim+"custom")
	m[ltitest.Claim+"resource_link"] = map[string]any{"id": link, "title": "Second quiz"}
	switch link {
	case "bound":
		m[ltitest.Claim+"custom"] = map[string]any{"assignment": l.assignment}
	case "to-choose":
		m[ltitest.Claim+"message_type"] = "LtiDeepLinkingRequest"
		m[ltitest.ClaimDL+"deep_linking_settings"] = map[string]any{
			"deep_link_return_url": l.URL() + "/chosen", "accept_types": []string{"ltiResourceLink"},
			"accept_presentation_document_targets": []string{"iframe"}, "accept_multiple": false, "data": choiceData,
		}
	}
	return m
}

const choiceData = `csrf=1&"é<2>`

// login is where a learning system's link leads.
func (l *launches) login(hint string, storage bool) string {
	q := url.Values{"iss": {l.URL()}, "client_id": {l.Client}, "login_hint": {hint}, "target_link_uri": {l.base + "/"}, "lti_deployment_id": {l.Deployment}}
	if storage {
		q.Set("lti_storage_target", "_parent")
	}
	return l.base + lti.LoginPath + "?" + q.Encode()
}

// course opens the course anew, with a link followed in its frame.
func (l *launches) course(t *testing.T, hint string, storage bool) {
	t.Helper()
	q := url.Values{"to": {l.login(hint, storage)}}
	if storage {
		q.Set("keeps", "")
	}
	address := l.URL() + "/course?" + q.Encode()
	if l.tab != nil {
		l.tab.Do(chromedp.Navigate(address))
		return
	}
	// A frame is a process of its own, and none stays behind in a page that was left.
	l.tab = pagetest.Open(t, address, 1280, 850, append(l.flags, chromedp.Flag("site-per-process", true), chromedp.Flag("disable-back-forward-cache", true))...)
}

// frame opens the course and goes into the frame, where the page has begun.
func (l *launches) frame(t *testing.T, hint string, storage bool) *pagetest.Tab {
	t.Helper()
	l.course(t, hint, storage)
	frame := l.tab.Other("iframe", l.base+"/#")
	frame.Until("the page has begun", `document.querySelector('main .view')`)
	return frame
}

// TestLaunches launches from a course that shows the service in a frame, where cookies of
// other sites are kept, and where the browser keeps them by the site around the frame alone
// (CHIPS).
func TestLaunches(t *testing.T) {
	pagetest.Chromium(t)
	for name, flags := range map[string][]chromedp.ExecAllocatorOption{
		"cookies": nil, "cookies of others forbidden": {chromedp.Flag("test-third-party-cookie-phaseout", true)},
	} {
		t.Run(name, func(t *testing.T) {
			l := newLaunches(t)
			l.flags = flags
			l.teacher(t)
			l.pupil(t)
			if flags == nil {
				l.warns(t)
			}
			l.binds(t)
			l.chooses(t)
		})
	}
}

// TestLaunchesWhereFramesKeepNothing forbids the frame all that it might keep, as a person can
// in a browser's settings: the learning system's window keeps the secret of the login, or the
// launch goes on in a window of its own.
func TestLaunchesWhereFramesKeepNothing(t *testing.T) {
	pagetest.Chromium(t)
	l := newLaunches(t)
	profile, err := os.MkdirTemp("", "profile")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(profile) }) // the browser may be at work in it still
	forbidden := fmt.Sprintf(`{"profile":{"content_settings":{"exceptions":{"cookies":{"%s,%s":{"setting":2}}}}}}`, l.base, l.URL())
	if err := os.MkdirAll(filepath.Join(profile, "Default"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(profile, "Default", "Preferences"), []byte(forbidden), 0o600); err != nil {
		t.Fatal(err)
	}
	l.flags = []chromedp.ExecAllocatorOption{chromedp.UserDataDir(profile)}
	const class = `document.querySelector('.class-page')?.innerText.includes('Second quiz')`
	b := l.frame(t, "Instructor teacher-1 bound", true)
	b.Until("the class is there", class)
	if pagetest.Value[bool](b, `(() => { try { return Boolean(sessionStorage); } catch { return false; } })()`) {
		t.Error("the frame may keep something: the settings do not hold")
	}
	l.loadedAnew(b, class)
	l.course(t, "Instructor teacher-1 bound", false)
	l.tab.Other("iframe", l.base+lti.LaunchPath).Press("Open in a window of its own")
	l.tab.Other("page", l.base+"/#").Until("the class is there", class)
}

// loadedAnew loads the frame anew where it keeps nothing: the launch stands beside its
// history. Where it does not, that it must be opened from the course is said; after signing
// out an older entry of the history opens nothing.
func (l *launches) loadedAnew(b *pagetest.Tab, class string) {
	b.T.Helper()
	logins := l.Logins()
	reload := func() { b.Do(pagetest.Leave(`location.reload()`)) }
	const again = `document.querySelector('.open-again')?.innerText.includes('open this from your course') && !document.querySelector('.open-again input')`
	reload()
	b.Until("the frame is loaded anew, and the class is there", `!window.before && `+class)
	b.Do(pagetest.Script(`location.hash = '#assignments'`))
	b.Until("the list is there", `document.querySelector('.class-list')`)
	reload()
	b.Until("the list is there again", `!window.before && document.querySelector('.class-list')`)
	if l.Logins() != logins {
		b.T.Error("loading the frame anew launches again")
	}
	if address := pagetest.Value[string](b, `location.href`); strings.Contains(address, "lti_") {
		b.T.Errorf("the secret stays in the address %s", address)
	}
	b.Do(pagetest.Leave(`location.href = '/?other'`))
	b.Until("it is said where to open it", again)
	b.Axe("open again")
	b.Do(pagetest.Leave(`history.back()`))
	b.Until("the list is there again", `!window.before && document.querySelector('.class-list')`)
	b.Press("Sign out")
	b.Until("it is said where to open it", again)
	b.Do(pagetest.Leave(`history.back(); setTimeout(() => location.reload(), 500)`)) // where the older entry is this document, it is loaded anew
	b.Until("an older entry opens nothing", `!window.before && `+again)
}

// teacher comes to the class, and again by loading the frame anew, without another launch.
func (l *launches) teacher(t *testing.T) {
	scores, err := scoresOfClass()
	if err != nil {
		t.Fatal(err)
	}
	sendAs(t, l.key, http.MethodPost, l.base+"/v1/assignments/"+l.assignment+"/references/p04/hand-ins", "application/xml", scores["p04"])
	b := l.frame(t, "Instructor teacher-1 bound", false)
	const class = `document.querySelector('.class-page')?.innerText.includes('Second quiz') && document.querySelectorAll('.hand-ins tbody tr').length === 1`
	b.Until("the class is there", class)
	logins := l.Logins()
	b.Do(pagetest.Leave(`location.reload()`))
	b.Until("the frame is loaded anew, and the class is there", `!window.before && `+class)
	if l.Logins() != logins {
		t.Error("loading the frame anew launches again")
	}
	if address := pagetest.Value[string](b, `location.href`); strings.Contains(address, "lti_") {
		t.Errorf("the secret stays in the address %s", address)
	}
}

// pupil hands in and sees nothing of p04.
func (l *launches) pupil(t *testing.T) {
	b := l.frame(t, "Learner pupil-12 bound", false)
	b.Until("the sheet is there", `document.querySelectorAll('.hand-in .score-page g.note').length > 0 && document.querySelector('.attempts')?.innerText.includes('not handed in yet')`)
	b.Do(chromedp.SetUploadFiles("#choose-hand-in", []string{handInFile(t, "p12")}))
	b.Until("it is handed in", `document.querySelectorAll('.attempts li').length === 1 && document.querySelector('.attempts .chip-well')?.innerText.includes('complete')`)
	b.Press("Change notes and hand in again")
	b.Until("the score is there to write in", `document.querySelectorAll('.hand-in-page .score-page g.note').length === 48`)
	b.Press("Back to the assignment")
	for _, fragment := range []string{"#assignments", "#assignments?assignment=" + l.assignment, "#hand-in?assignment=" + l.assignment + "&reference=p04"} {
		b.Do(pagetest.Script(`location.hash = '` + fragment + `'`))
		b.Until("only the own work is there", `document.querySelectorAll('.attempts li').length === 1 && !document.querySelector('.class-page, .class-list') && !document.querySelector('main').innerText.includes('p04')`)
	}
	if status := pagetest.Value[int](b, `fetch('/v1/assignments/`+l.assignment+`/references/p04/hand-ins', { headers: { Authorization: 'Bearer ' + sessionStorage.getItem('partwright.launch') } }).then((a) => a.status)`); status != http.StatusNotFound {
		t.Errorf("another's work is answered %d", status)
	}
}

// warns says before a release which mark of the learning system's own it would overwrite.
func (l *launches) warns(t *testing.T) {
	until := func(what string, so func() bool) {
		for range 200 {
			if so() {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("not so after 10 s: %s", what)
	}
	until("the learning system is told of the hand-in", func() bool {
		return slices.ContainsFunc(l.Scores(), func(s ltitest.Score) bool { return s.Pupil == "pupil-12" })
	})
	l.Enter("pupil-12", 18, 20)
	until("it would be overwritten", func() bool { // that it was told is written down a moment later
		return strings.Contains(string(sendAs(t, l.key, http.MethodGet, l.base+"/v1/assignments/"+l.assignment+"/gradebook", "application/json", nil)), `"overwrites":true`)
	})
	b := l.frame(t, "Instructor teacher-1 bound", false)
	b.Press("Release marks")
	b.Until("it is said what is overwritten", `document.querySelector('.ask-first[open] .told')?.innerText.includes('(18)')`)
	b.Press("Not now")
}

// binds follows a link that has no assignment: its teacher says which, and a pupil who
// follows it afterwards comes to that.
func (l *launches) binds(t *testing.T) {
	b := l.frame(t, "Instructor teacher-1 unbound", false)
	b.Press("Use for this link")
	b.Until("the class is there", `document.querySelector('.class-page')?.innerText.includes('Second quiz')`)
	b = l.frame(t, "Learner pupil-13 unbound", false)
	b.Until("the sheet is there", `document.querySelector('.attempts')?.innerText.includes('not handed in yet') && document.querySelector('h1').innerText === 'Second quiz'`)
}

// chooses goes back to the course with a link to the assignment.
func (l *launches) chooses(t *testing.T) {
	b := l.frame(t, "Instructor teacher-1 to-choose", false)
	b.Press("Use for this link")
	l.tab.Until("the frame is back in the learning system", `(() => { try { return frames[0].location.pathname === '/chosen'; } catch { return false; } })()`)
	m, err := l.Chosen()
	if err != nil {
		t.Fatal(err)
	}
	items, _ := json.Marshal(m[ltitest.ClaimDL+"content_items"])
	if m[ltitest.ClaimDL+"data"] != choiceData || !strings.Contains(string(items), `"custom":{"assignment":"`+l.assignment+`"}`) {
		t.Errorf("chosen are %s, with the data %v", items, m[ltitest.ClaimDL+"data"])
	}
}
