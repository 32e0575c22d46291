package ltitest

import (
	"html/template"
	"net/http"
	"net/url"

	"github.com/golang-jwt/jwt/v5"
)

// Course is what a browser sees of a learning system: a page with the tool in a frame, and
// what the tool is answered.
type Course struct {
	*Platform
	// Who says who comes, by the login_hint of a login.
	Who func(login url.Values) jwt.MapClaims
	// chosen are the tokens that deep linking brought back.
	chosen chan string
}

var coursePages = template.Must(template.New("course").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Harmony II</title>
<h1>Harmony II</h1>
<iframe name="tool" title="tool" style="width:100%;height:40rem;border:0" src="{{.}}"></iframe>
<script>
const kept = new Map();
addEventListener("message", ({ data: m, origin, source }) => {
  if (!new URLSearchParams(location.search).has("keeps")) return;
  const answer = { subject: m.subject + ".response", message_id: m.message_id, key: m.key };
  if (m.subject === "lti.put_data") kept.set(origin + m.key, answer.value = m.value);
  if (m.subject === "lti.get_data") answer.value = kept.get(origin + m.key);
  source.postMessage(answer, origin);
});
</script>{{define "launch"}}<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Launch</title>
<form method="post" action="{{.action}}"><input type="hidden" name="id_token" value="{{.token}}"><input type="hidden" name="state" value="{{.state}}"></form>
<script>document.forms[0].submit()</script>{{end}}`))

// Course lets browsers come: the page /course shows the address that its parameter "to" says
// in a frame, and with the parameter "keeps" keeps what the tool asks it to (LTI postMessage
// Storage 0.1); a login is answered by a form that posts the launch (OpenID Connect, OAuth 2.0
// Form Post Response Mode, 2).
func (p *Platform) Course(who func(login url.Values) jwt.MapClaims) *Course {
	c := &Course{Platform: p, Who: who, chosen: make(chan string, 1)}
	p.mux.HandleFunc("GET /course", func(w http.ResponseWriter, r *http.Request) {
		c.show(w, "course", r.URL.Query().Get("to"))
	})
	p.mux.HandleFunc("POST /chosen", func(w http.ResponseWriter, r *http.Request) {
		c.chosen <- r.PostFormValue("JWT")
		c.show(w, "course", "about:blank")
	})
	p.mu.Lock()
	defer p.mu.Unlock()
	p.answer = func(w http.ResponseWriter, login url.Values) {
		c.show(w, "launch", map[string]string{"action": p.redirect, "state": login.Get("state"), "token": p.Sign(c.Who(login))})
	}
	return c
}

// show writes a page; what cannot be written any more went to a browser that left.
func (c *Course) show(w http.ResponseWriter, name string, data any) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = coursePages.ExecuteTemplate(w, name, data)
}

// Chosen waits for what deep linking brings back, and returns its claims.
func (c *Course) Chosen() (jwt.MapClaims, error) { return c.Verify(<-c.chosen) }

// Logins is how often the tool asked who comes.
func (p *Platform) Logins() int { p.mu.Lock(); defer p.mu.Unlock(); return len(p.requests) }
