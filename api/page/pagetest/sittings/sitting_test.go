package sittings_test

import (
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

func TestMain(m *testing.M) { pagetest.Main(m) }

// TestFirstFiveMinutes is one sitting of somebody who has never seen the page, from the
// address that the service prints to a sheet on paper: every step presses what is on the
// screen at that moment. PAGE_PICTURES shows what was seen at each.
func TestFirstFiveMinutes(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t, "--data-dir", t.TempDir()), 1280, 800)
	b.Picture("sitting-1-begin")
	// "Or begin with an example."
	b.Press("A hand-in with faults")
	b.Until("what was found is said, and where", `document.querySelectorAll('.item.fault').length === 4 && document.querySelectorAll('.marks .sign.fault').length === 4`)
	b.Picture("sitting-2-found")
	// The first finding is pressed in the score, where its sign is.
	at := pagetest.Value[[]float64](b, `(() => { const r = document.querySelector('.marks .sign.fault').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	b.Do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, at[0], at[1], chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, at[0], at[1], chromedp.ButtonLeft))
	b.Until("it is explained", `document.querySelector('.item.chosen')?.innerText.includes('To mend it')`)
	b.Until("ways to mend are offered", `document.querySelectorAll('.way').length > 0`)
	b.Picture("sitting-3-explained")
	b.Press("Hear only this")
	b.Press("Try")
	b.Until("it is said what the change does", `document.querySelector('.banner.trying')?.innerText.includes('This finding is gone')`)
	b.Picture("sitting-4-tried")
	b.Press("Keep it")
	b.Until("one fault less is left", `document.querySelectorAll('.item.fault').length === 3`)
	b.Picture("sitting-5-kept")
	// A pupil's own file, over the example.
	b.Drop(pagetest.Class(t, "worksheet.musicxml"))
	b.Until("the other score is there", `document.querySelector('h1').innerText !== 'Harmonize the bass: hand-in' && document.querySelectorAll('.item').length > 10 && document.querySelector('.score-page g.note')`)
	b.Picture("sitting-6-own-file")
	sheet(b, "sitting-7-sheet")
	// Chords instead of a score.
	b.Press("Lead voices")
	b.Until("there is a phrase", `document.querySelectorAll('.option').length > 2 && document.querySelector('.lead-voices .score-page g.note')`)
	b.Picture("sitting-8-lead")
	b.Press("Both in turn")
	b.Press("Choose")
	b.Until("it is held", `document.querySelectorAll('.held-sign').length === 1`)
	b.Picture("sitting-9-chosen")
	b.Press("Batches")
	b.Until("there is where to drop", `document.querySelector('.batches-list[aria-busy="false"] .drop')`)
	b.Drop(pagetest.Archive(t))
	b.Until("the class is answered", `document.body.innerText.includes('4 of 4 answered · finished')`)
	b.Press("class/hand-in.musicxml")
	b.Until("its score is looked over, by its name", `location.hash.startsWith('#look-over') && document.querySelectorAll('.item.fault').length === 4 && document.querySelector('.file-name').innerText === 'class/hand-in.musicxml' && document.querySelector('.score-page g.note')`)
	b.Picture("sitting-10-from-the-class")
	b.Press("Back to the batch")
	b.Until("the batch is there again", `document.body.innerText.includes('4 of 4 answered')`)
}

// sheet presses Print and keeps what would come out of the printer.
func sheet(b *pagetest.Tab, name string) {
	b.T.Helper()
	b.Do(pagetest.Script(`window.print = () => { window.asked = true; }`))
	b.Press("Print")
	b.Until("it is laid out for paper", `window.asked`)
	pdf := pagetest.Result(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize()))
	if len(pdf) < 10_000 {
		b.T.Errorf("the sheet has %d bytes", len(pdf))
	}
	if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o600); err != nil {
			b.T.Fatal(err)
		}
	}
	b.Do(pagetest.Script(`dispatchEvent(new Event('afterprint'))`))
	b.Until("it is laid out for the screen again", `!document.querySelector('.printed-findings') && document.querySelector('.score-page g.note')`)
}
