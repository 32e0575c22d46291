package page_test

import (
	"partwright/api/page/pagetest"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestEverythingByKeyboard begins with an example, opens a fault, applies a way to mend
// it, undoes that and opens the downloads without a pointer (WCAG 2.2, 2.1.1).
func TestEverythingByKeyboard(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.Reach("A hand-in with faults")
	b.Do(enter)
	b.Until("findings are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.Reach("1\nmeasure 1")
	b.Do(enter)
	b.Until("ways to mend are found", `document.querySelectorAll('.way').length > 0`)
	b.Reach("Hear only this")
	b.Do(enter)
	b.Reach("Apply")
	b.Do(enter)
	b.Until("the fault is gone", `document.querySelectorAll('.item.fault').length === 3`)
	b.Reach("Undo")
	b.Do(enter)
	b.Until("the fault is back", `document.querySelectorAll('.item.fault').length === 4`)
	b.Reach("Download")
	b.Do(enter)
	b.Until("the downloads are shown", `[...document.querySelectorAll('.menu li button')].some((e) => e.checkVisibility())`)
	b.Axe("downloads open")
	b.Do(chromedp.KeyEvent(kb.Escape))
	b.Reach("Hide the answer")
	b.Do(chromedp.KeyEvent(" "))
	b.Until("the answer is hidden", `!document.querySelector('.findings').innerText.includes('parallel')`)
}

// TestLeadingVoicesByKeyboard types a row, goes to a change, hears it and chooses another
// way; TestBatchesByKeyboard goes from a batch by a bar to a score, and back.
func TestLeadingVoicesByKeyboard(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t)+"/#lead-voices", 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.Until("there is a phrase", `document.querySelectorAll('.option').length > 2`)
	b.Reach("Melody")
	b.Do(enter)
	b.Until("the row can be typed in", `document.activeElement.id === 'lead-row' && document.activeElement.value.startsWith('F: soprano')`)
	b.Do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent("C: I IV V I"))
	b.Until("it is led", `document.querySelectorAll('.changes button').length === 3 && !document.querySelector('.lead-voices').hasAttribute('aria-busy')`)
	b.Reach("I → IV")
	b.Do(enter)
	b.Until("the change is shown, and other ways there", `document.querySelector('.now h3')?.innerText.startsWith('I → IV') && document.querySelector('.option:not(.as-now) .primary')?.checkVisibility()`)
	b.Reach("Hear this change")
	b.Do(enter)
	b.Reach("Choose")
	b.Do(enter)
	b.Until("the chord is held", `document.querySelectorAll('.held-sign').length > 0`)
	b.Reach("Let all chords free")
	b.Do(enter)
	b.Until("nothing is held", `document.querySelectorAll('.held-sign').length === 0`)
	b.Reach("Print")
	b.Do(enter)
	b.Until("the sheets can be chosen", `[...document.querySelectorAll('.phrase .menu input')].some((e) => e.checkVisibility())`)
	b.Axe("lead voices, sheets open")
}

func TestBatchesByKeyboard(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t, "--data-dir", t.TempDir())+"/#batches", 1280, 900)
	enter := chromedp.KeyEvent(kb.Enter)
	b.Until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
	b.Drop(pagetest.Archive(t)) // a dialog of the system chooses files; a keyboard opens it as it opens any
	b.Until("all is answered", `document.body.innerText.includes('4 of 4 answered · finished')`)
	b.Reach("All batches")
	b.Do(enter)
	b.Until("the batch is listed", `document.querySelectorAll('.kept a').length === 1`)
	for !pagetest.Value[bool](b, `document.activeElement.id === 'batch-rule-set'`) {
		b.Do(chromedp.KeyEvent(kb.Tab))
	}
	b.Do(chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(" "))
	b.Until("harmonies are asked for", `document.querySelector('.batch-options .check input').checked`)
	for !pagetest.Value[bool](b, `document.activeElement.matches('.kept a')`) {
		b.Do(chromedp.KeyEvent(kb.Tab))
	}
	b.Do(enter)
	b.Until("the batch is there", `document.querySelectorAll('.scores tbody tr').length === 4`)
	b.Reach("3")
	b.Do(enter)
	b.Until("a bar leads to the scores behind it", `document.body.innerText.includes('behind this')`)
	b.Reach("Show all scores")
	b.Do(enter)
	b.Reach("class/hand-in.musicxml")
	b.Do(enter)
	b.Until("it is looked over", `location.hash.startsWith('#look-over') && document.querySelectorAll('.item.fault').length === 4`)
	b.Reach("Back to the batch")
	b.Do(enter)
	b.Until("the batch is there again", `location.hash.startsWith('#batches?batch=')`)
}

// TestRulesAndRubricAreChosen checks again by another set and proposes a mark.
func TestRulesAndRubricAreChosen(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Press("A hand-in with faults")
	b.Until("findings are listed", `document.querySelectorAll('.item.fault').length === 4`)
	b.Press("Check by")
	choose := func(id, name string) {
		b.Until("there is "+name, `[...document.querySelectorAll('#`+id+` option')].some((o) => o.value === '`+name+`')`)
		b.Do(evaluate(`document.querySelector('#` + id + `').value = '` + name + `', document.querySelector('#` + id + `').dispatchEvent(new Event('change')), undefined`))
	}
	choose("rubric", "hundred")
	b.Until("a mark is proposed", `document.querySelector('.grade')?.innerText.includes('of 100')`)
	b.Picture("grade")
	choose("rule-set", "species-first")
	b.Until("the same score has other findings", `document.querySelectorAll('.item.fault').length !== 4 && document.querySelector('.desk').dataset.state === 'ready'`)
}
