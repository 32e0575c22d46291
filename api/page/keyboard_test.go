package page_test

import (
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// reach goes by the tab key to what has the words given, and no other way.
func (b *tab) reach(words string) {
	b.t.Helper()
	for range 80 {
		b.do(chromedp.KeyEvent(kb.Tab))
		if value[bool](b, `((e) => (e.innerText ?? '').trim().startsWith(`+strconv.Quote(words)+`) || e.ariaLabel === `+strconv.Quote(words)+`)(document.activeElement)`) {
			if !value[bool](b, `document.activeElement.matches(':focus-visible') && document.activeElement.checkVisibility()`) {
				b.t.Errorf("the focus on %q is not seen", words)
			}
			return
		}
	}
	b.t.Fatalf("the tab key does not reach %q", words)
}

// TestEverythingByKeyboard begins with an example, opens a fault, applies a way to mend
// it, undoes that and opens the downloads without a pointer (WCAG 2.2, 2.1.1).
func TestEverythingByKeyboard(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.reach("A hand-in with faults")
	b.do(enter)
	b.until("findings are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.reach("1\nmeasure 1")
	b.do(enter)
	b.until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.reach("Hear only this")
	b.do(enter)
	b.reach("Apply")
	b.do(enter)
	b.until("the fault is gone", `document.querySelectorAll('.item.fault').length === 3`)
	b.reach("Undo")
	b.do(enter)
	b.until("the fault is back", `document.querySelectorAll('.item.fault').length === 4`)
	b.reach("Download")
	b.do(enter)
	b.until("the downloads are shown", `[...document.querySelectorAll('.menu li button')].some((e) => e.checkVisibility())`)
	b.axe("downloads open")
	b.do(chromedp.KeyEvent(kb.Escape))
	b.reach("Hide the answer")
	b.do(chromedp.KeyEvent(" "))
	b.until("the answer is hidden", `!document.querySelector('.findings').innerText.includes('parallel')`)
}

// TestRulesAndRubricAreChosen checks again by another set and proposes a mark.
func TestRulesAndRubricAreChosen(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t), 1280, 900)
	b.press("A hand-in with faults")
	b.until("findings are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.press("Check by")
	choose := func(id, name string) {
		b.until("there is "+name, `[...document.querySelectorAll('#`+id+` option')].some((o) => o.value === '`+name+`')`)
		b.do(evaluate(`document.querySelector('#` + id + `').value = '` + name + `', document.querySelector('#` + id + `').dispatchEvent(new Event('change')), undefined`))
	}
	choose("rubric", "hundred")
	b.until("a mark is proposed", `document.querySelector('.grade')?.innerText.includes('of 100')`)
	b.picture("grade")
	choose("rule-set", "species-first")
	b.until("the same score has other findings", `document.querySelectorAll('.item.fault').length !== 4 && document.querySelector('.desk').dataset.state === 'ready'`)
}
