package pagetest_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"partwright/api/page/pagetest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
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
	file := handInFile(t, "p12")
	if err := os.WriteFile(file, pagetest.InUTF16(string(scores["p12"])), 0o600); err != nil {
		t.Fatal(err)
	}
	b.Drop(file)
	b.Until("it is handed in", `document.querySelectorAll('.attempts li').length === 1 && document.querySelector('.attempts .chip-well')?.innerText.includes('complete')`)
	if text := pagetest.Value[string](b, `document.querySelector('main').innerText`); !strings.Contains(text, "not released yet") || strings.Contains(text, "19.5") || strings.Contains(text, "IV") {
		t.Errorf("before the release a pupil sees %s", text)
	}
	b.Picture("pupil-own")
	goesOn(b)
	as(http.MethodPost, class+"/decisions", "application/json", []byte(`{"do":"release"}`))
	b.Do(chromedp.Reload())
	// The first attempt had IV for ii6; the last one counts.
	b.Until("the mark is there", `document.querySelector('.mark-given')?.innerText === 'Mark: 20 of 20'`)
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

// goesOn changes a note of the attempt by the keyboard and hands it in once more: D4 for C4 in
// the sixth chord of the tenor makes ii6 of IV (classtest.Solution). Findings are not told.
func goesOn(b *pagetest.Tab) {
	b.T.Helper()
	b.Press("Change notes and hand in again")
	b.Until("the score is there", `document.querySelectorAll('.hand-in-page .score-page g.note').length === 48`)
	b.Axe("pupil, before a change")
	b.Do(pagetest.Script(`document.querySelector('.score').focus()`))
	b.Do(chromedp.KeyEvent(kb.ArrowRight))
	b.Until("a note is chosen", `document.querySelector('.note-editor:not([hidden])')`)
	for _, voice := range []string{"alto", "tenor"} {
		b.Do(chromedp.KeyEvent(kb.PageDown))
		b.Until("the voice below is chosen", `document.querySelector('.note-editor label').innerText.includes('`+voice+`')`)
	}
	for range 5 {
		at := pagetest.Value[string](b, `document.querySelector('.ring.editing').getAttribute('cx')`)
		b.Do(chromedp.KeyEvent(kb.ArrowRight))
		b.Until("the next note is chosen", `document.querySelector('.ring.editing')?.getAttribute('cx') !== '`+at+`'`)
	}
	b.Do(chromedp.KeyEvent(kb.ArrowUp))
	b.Until("it would be D", `document.querySelector('#note-pitch').value === 'D4'`)
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until("it is told that one note is changed", `document.querySelector('.own-edits')?.innerText.includes('You have changed one note')`)
	b.Axe("pupil, changed")
	b.Do(chromedp.Reload())
	b.Until("the change is still there", `document.querySelector('.own-edits')?.innerText.includes('You have changed one note')`)
	if text := pagetest.Value[string](b, `document.querySelector('main').innerText`); !strings.Contains(text, "Findings are not shown yet") {
		b.T.Errorf("the desk says %s", text)
	}
	b.Press("Hand in again")
	b.Press("Hand it in")
	b.Until("the second attempt is handed in", `document.querySelectorAll('.attempts li').length === 2 && document.querySelector('.attempts li.just')?.innerText.includes('complete')`)
}
