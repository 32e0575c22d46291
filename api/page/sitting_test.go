package page_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// TestFirstFiveMinutes is one sitting of somebody who has never seen the page, from the
// address that the service prints to a sheet on paper: every step presses what is on the
// screen at that moment. PAGE_PICTURES shows what was seen at each.
func TestFirstFiveMinutes(t *testing.T) {
	chromium(t)
	b := browse(t, serve(t, "--data-dir", t.TempDir()), 1280, 800)
	b.picture("sitting-1-begin")
	// "Or begin with an example."
	b.press("A hand-in with faults")
	b.until("what was found is said, and where", `document.querySelectorAll('.item.fault').length === 4 && document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.picture("sitting-2-found")
	// The first finding is pressed in the score, where its sign is.
	at := value[[]float64](b, `(() => { const r = document.querySelector('.marks .sign.fault').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, at[0], at[1], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, at[0], at[1], chromedp.ButtonLeft))
	b.until("it is explained", `document.querySelector('.item.chosen')?.innerText.includes('To mend it')`)
	b.until("ways to mend are offered", `document.querySelectorAll('.way').length > 0`)
	b.picture("sitting-3-explained")
	b.press("Hear only this")
	b.press("Try")
	b.until("it is said what the change does", `document.querySelector('.banner.trying')?.innerText.includes('This finding is gone')`)
	b.picture("sitting-4-tried")
	b.press("Keep it")
	b.until("one fault less is left", `document.querySelectorAll('.item.fault').length === 3`)
	b.picture("sitting-5-kept")
	// A pupil's own file, over the example.
	b.drop(class(t, "worksheet.musicxml"))
	b.until("the other score is there", `document.querySelector('h1').innerText !== 'Harmonize the bass: hand-in' && document.querySelectorAll('.item').length > 10 && document.querySelector('.score-page g.note')`)
	b.picture("sitting-6-own-file")
	b.sheet("sitting-7-sheet")
	// Chords instead of a score.
	b.press("Lead voices")
	b.until("there is a phrase", `document.querySelectorAll('.option').length > 2 && document.querySelector('.lead-voices .score-page g.note')`)
	b.picture("sitting-8-lead")
	b.press("Both in turn")
	b.press("Choose")
	b.until("it is held", `document.querySelectorAll('.held-sign').length === 1`)
	b.picture("sitting-9-chosen")
	b.press("Batches")
	b.until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
	b.drop(archive(t))
	b.until("the class is answered", `document.body.innerText.includes('4 of 4 answered · finished')`)
	b.press("class/hand-in.musicxml")
	b.until("its score is looked over, by its name", `location.hash.startsWith('#look-over') && document.querySelectorAll('.item.fault').length === 4 && document.querySelector('.file-name').innerText === 'class/hand-in.musicxml' && document.querySelector('.score-page g.note')`)
	b.picture("sitting-10-from-the-class")
	b.press("Back to the batch")
	b.until("the batch is there again", `document.body.innerText.includes('4 of 4 answered')`)
}

// sheet presses Print and keeps what would come out of the printer.
func (b *tab) sheet(name string) {
	b.t.Helper()
	b.do(script(`window.print = () => { window.asked = true; }`))
	b.press("Print")
	b.until("it is laid out for paper", `window.asked`)
	pdf := result(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize()))
	if len(pdf) < 10_000 {
		b.t.Errorf("the sheet has %d bytes", len(pdf))
	}
	if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o600); err != nil {
			b.t.Fatal(err)
		}
	}
	b.do(script(`dispatchEvent(new Event('afterprint'))`))
	b.until("it is laid out for the screen again", `!document.querySelector('.printed-findings') && document.querySelector('.score-page g.note')`)
}
