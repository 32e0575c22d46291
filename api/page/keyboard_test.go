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

// TestLeadingVoicesByKeyboard types a row, goes to a change, hears it and chooses another
// way; TestBatchesByKeyboard goes from a batch by a bar to a score, and back.
func TestLeadingVoicesByKeyboard(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t)+"/#lead-voices", 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.until("there is a phrase", `document.querySelectorAll('.option').length > 2`)
	b.reach("Melody")
	b.do(enter)
	b.until("the row can be typed in", `document.activeElement.id === 'lead-row' && document.activeElement.value.startsWith('F: soprano')`)
	b.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent("C: I IV V I"))
	b.until("it is led", `document.querySelectorAll('.changes button').length === 3 && !document.querySelector('.lead-voices').hasAttribute('aria-busy')`)
	b.reach("I → IV")
	b.do(enter)
	b.until("the change is shown, and other ways there", `document.querySelector('.now h3')?.innerText.startsWith('I → IV') && document.querySelector('.option:not(.as-now) .primary')?.checkVisibility()`)
	b.reach("Hear this change")
	b.do(enter)
	b.reach("Choose")
	b.do(enter)
	b.until("the chord is held", `document.querySelectorAll('.held-sign').length > 0`)
	b.reach("Let all chords free")
	b.do(enter)
	b.until("nothing is held", `document.querySelectorAll('.held-sign').length === 0`)
	b.reach("Print")
	b.do(enter)
	b.until("the sheets can be chosen", `[...document.querySelectorAll('.phrase .menu input')].some((e) => e.checkVisibility())`)
	b.axe("lead voices, sheets open")
}

func TestBatchesByKeyboard(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t, "--data-dir", t.TempDir())+"/#batches", 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
	b.drop(archive(t)) // a dialog of the system chooses files; a keyboard opens it as it opens any
	b.until("all is answered", `document.body.innerText.includes('4 of 4 answered · finished')`)
	b.reach("All batches")
	b.do(enter)
	b.until("the batch is listed", `document.querySelectorAll('.kept a').length === 1`)
	for !value[bool](b, `document.activeElement.id === 'batch-rule-set'`) {
		b.do(chromedp.KeyEvent(kb.Tab))
	}
	b.do(chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(" "))
	b.until("harmonies are asked for", `document.querySelector('.batch-options .check input').checked`)
	for !value[bool](b, `document.activeElement.matches('.kept a')`) {
		b.do(chromedp.KeyEvent(kb.Tab))
	}
	b.do(enter)
	b.until("the batch is there", `document.querySelectorAll('.scores tbody tr').length === 4`)
	b.reach("3")
	b.do(enter)
	b.until("a bar leads to the scores behind it", `document.body.innerText.includes('behind this')`)
	b.reach("Show all scores")
	b.do(enter)
	b.reach("class/hand-in.musicxml")
	b.do(enter)
	b.until("it is looked over", `location.hash.startsWith('#look-over') && document.querySelectorAll('.item.fault').length === 4`)
	b.reach("Back to the batch")
	b.do(enter)
	b.until("the batch is there again", `location.hash.startsWith('#batches?batch=')`)
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
