package sittings_test

import (
	"fmt"
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestEveryStateOnDeskAndPhone goes through the views and their states at both widths, in
// the light and in the dark. Each is held to WCAG by axe-core, fits its width, and is
// pictured where PAGE_PICTURES names a folder.
func TestEveryStateOnDeskAndPhone(t *testing.T) {
	pagetest.Chromium(t)
	data := t.TempDir()
	address := pagetest.Serve(t, "--data-dir", data)
	for _, width := range []int{1280, 390} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			b := pagetest.Browse(t, address, width, 850)
			see := func(state string) {
				t.Helper()
				if wide := pagetest.Value[int](b, `document.documentElement.scrollWidth`); wide > width {
					t.Errorf("%s: the page is %d wide", state, wide)
				}
				b.Axe(fmt.Sprintf("%s %d", state, width))
				b.NothingWrong()
			}
			see("welcome")
			b.Press("A hand-in with faults")
			b.Until("the score is drawn", `document.querySelectorAll('.marks .sign.fault').length === 4`)
			see("look-over")
			b.Press("1\nmeasure 1")
			b.Until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
			b.Press("Try")
			b.Until("a change is tried", `document.querySelector('.banner.trying')`)
			see("trying")
			b.Press("Put it back")
			b.Until("it is put back", `!document.querySelector('.banner.trying')`)
			b.Press("Hide the answer")
			see("answer hidden")
			b.Press("Hide the answer")
			b.Do(pagetest.Script(`document.querySelector('.score').focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowUp))
			b.Until("a note is chosen", `document.querySelector('.ghost')`)
			see("note chosen")
			b.Do(pagetest.Script(`window.fetched = window.fetch; window.fetch = () => Promise.reject(new TypeError('no network'))`), chromedp.KeyEvent(kb.Enter))
			b.Until("offline is said", `document.querySelector('.problem.offline')`)
			see("offline")
			b.Do(pagetest.Script(`window.fetch = window.fetched`))
			b.Drop(pagetest.BrokenScore(t))
			b.Until("a problem is said", `document.querySelector('.problem')?.innerText.includes('line 3')`)
			see("problem")
			if pagetest.Value[int](b, `document.querySelectorAll('.item.fault').length`) != 4 {
				t.Error("a file that cannot be read takes the place of the score at work")
			}
			b.Press("Go on with it")
			long := filepath.Join(t.TempDir(), "Harmonisierung_einer_gegebenen_Oberstimme-zweiter_Versuch-Fassung_vom_Dienstag.musicxml")
			if err := os.WriteFile(long, []byte(pagetest.ReadText(t, pagetest.Class(t, "model.musicxml"))), 0o600); err != nil {
				t.Fatal(err)
			}
			b.Drop(long)
			b.Until("the other score is opened", `document.querySelector('.file-name')?.innerText.startsWith('Harmonisierung')`)
			if broken := pagetest.Value[string](b, brokenWords); broken != "" {
				t.Errorf("the file name breaks within %s", broken)
			}
			see("long name")

			b.Do(pagetest.Script(`location.hash = '#lead-voices?row=C%3A+I+vi+ii6+V7+I'`))
			b.Until("a phrase is led", `document.querySelectorAll('.lead-voices .score-page g.note').length === 20 && document.querySelectorAll('.option').length > 2`)
			see("lead")
			b.Do(pagetest.Typed("#lead-row", "C: I xx V"))
			b.Until("what is wrong is said", `document.querySelector('.trouble .problem')`)
			see("lead problem")

			b.Do(pagetest.Script(`location.hash = '#batches'`))
			b.Until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
			see("batches")
			b.Do(pagetest.Script(partlyDone))
			b.Drop(pagetest.Archive(t))
			b.Until("half of it is shown", `document.body.innerText.includes('2 of 4 answered')`)
			see("batch partly done")
			b.Do(pagetest.Script(`window.fetch = window.fetched`), chromedp.Reload())
			b.Until("all is answered", `document.body.innerText.includes('4 of 4 answered · finished')`)
			see("batch")
		})
	}
}

// partlyDone lets the page see a batch of which half is answered: the service is too fast
// to be caught at it.
const partlyDone = `window.fetched = window.fetch; window.fetch = async (path, options) => {
	const answer = await fetched(path, options);
	if (!/batches\/[^/]+(\/results.*)?$/.test(path)) return answer;
	const body = await answer.json();
	if (body.scores) Object.assign(body, { state: 'closed', seconds_left: 3, scores: { ...body.scores, done: 1, failed: 1, waiting: 2 } });
	if (body.results) body.results = body.results.slice(0, 1);
	return new Response(JSON.stringify(body), answer);
}`

// brokenWords are words of the file's name that stand on two lines.
const brokenWords = `[...document.querySelector('.file-name').childNodes].filter((n) => n.nodeType === 3).filter((n) => {
	const range = document.createRange();
	range.selectNodeContents(n);
	return new Set([...range.getClientRects()].map((r) => r.top)).size > 1;
}).map((n) => n.data).join(' ')`
