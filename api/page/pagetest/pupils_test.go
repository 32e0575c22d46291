package pagetest_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"partwright/api/page/pagetest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestPupilSeesTheirOwnOnly follows the link that a teacher gave out: the assignment is
// there, work is handed in, and nothing else of the page, of the class or of another pupil.
func TestPupilSeesTheirOwnOnly(t *testing.T) {
	pagetest.Chromium(t)
	data := t.TempDir()
	organization := pagetest.Partwright(t, "organizations", "create", "--data-dir", data, "Evening school")
	key := pagetest.Partwright(t, "keys", "create", "--data-dir", data, "--scopes", "classes,hand-ins", organization)
	address := pagetest.Serve(t, "--accounts", "--data-dir", data)
	as := func(method, path, kind string, body []byte) []byte {
		t.Helper()
		return sendAs(t, key, method, address+path, kind, body)
	}
	scores, err := scoresOfClass()
	if err != nil {
		t.Fatal(err)
	}
	var made struct{ ID, Link string }
	if err := json.Unmarshal(as(http.MethodPost, "/v1/assignments", "application/json", []byte(quiz)), &made); err != nil {
		t.Fatal(err)
	}
	class := "/v1/assignments/" + made.ID
	as(http.MethodPost, class+"/references/p04/hand-ins", "application/xml", scores["p04"])
	if err := json.Unmarshal(as(http.MethodPost, class+"/references/p12/links", "application/json", nil), &made); err != nil {
		t.Fatal(err)
	}
	b := pagetest.Browse(t, address+"/#sign-in?"+url.Values{"link": {made.Link}, "assignment": {made.ID}}.Encode(), 390, 844)
	b.Until("the sheet is there", `document.querySelectorAll('.hand-in .score-page g.note').length > 0 && document.querySelector('.attempts')?.innerText.includes('not handed in yet')`)
	if tabs := pagetest.Value[string](b, `[...document.querySelectorAll('.head nav a')].map((a) => a.innerText).join()`); tabs != "Hand in" {
		t.Errorf("a pupil sees the views %s", tabs)
	}
	b.Axe("pupil, own")
	b.Drop(handInFile(t, "p12"))
	b.Until("it is handed in", `document.querySelectorAll('.attempts li').length === 1 && document.querySelector('.attempts .chip-well')?.innerText.includes('complete')`)
	if text := pagetest.Value[string](b, `document.querySelector('main').innerText`); !strings.Contains(text, "not released yet") || strings.Contains(text, "19.5") || strings.Contains(text, "IV") {
		t.Errorf("before the release a pupil sees %s", text)
	}
	b.Picture("pupil-own")
	as(http.MethodPost, class+"/decisions", "application/json", []byte(`{"do":"release"}`))
	b.Do(chromedp.Reload())
	b.Until("the mark is there", `document.querySelector('.mark-given')?.innerText === 'Mark: 19.5 of 20'`)
	b.Press("See the findings in the score")
	b.Until("the findings are there, and nothing to decide", `document.querySelector('.mark-holds') && document.querySelectorAll('.hand-in-page .score-page g.note').length > 0 && !document.querySelector('.decision, .finding-decisions')`)
	b.Axe("pupil, own findings")
	for _, fragment := range []string{"#assignments", "#assignments?assignment=" + made.ID, "#hand-in?assignment=" + made.ID + "&reference=p04"} {
		b.Do(pagetest.Script(`location.hash = '` + fragment + `'`))
		b.Until("only the own work is there", `!document.querySelector('.class-page, .class-list') && !document.querySelector('main').innerText.includes('p04')`)
	}
	if status := pagetest.Value[int](b, `fetch('`+class+`/references/p04/hand-ins').then((a) => a.status)`); status != http.StatusNotFound {
		t.Errorf("another's work is answered %d", status)
	}
}
