package page_test

import (
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestEveryFindingIsPrinted prints a worksheet on both papers: the music first, on the
// page of its title, then all findings, none cut off.
func TestEveryFindingIsPrinted(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Drop(pagetest.Class(t, "worksheet.musicxml"))
	b.Until("findings are listed", `document.querySelectorAll('.item').length > 10 && document.querySelectorAll('.score-page g.note').length > 0`)
	b.Do(chromedp.Evaluate[chromedp.Void](`window.print = () => { window.asked = true; }`))
	for name, paper := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		b.Press("Print")
		b.Until("the score is laid out for paper", `window.asked`)
		findings := pagetest.Value[int](b, `document.querySelectorAll('.printed-findings li').length`)
		pdf := pagetest.Result(b, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPreferCSSPageSize()))
		if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		holdToPaper(t, name, pdf, findings)
		b.Until("it is laid out for the screen again", `!document.querySelector('.printed-findings') && document.querySelectorAll('.score-page g.note').length > 0`)
		b.Do(chromedp.Evaluate[chromedp.Void](`window.asked = false`))
	}
}

// holdToPaper wants as many findings as there are in the text of the PDF.
func holdToPaper(t *testing.T, name string, pdf []byte, findings int) {
	t.Helper()
	text, ok := pagetest.TextOf(t, pdf)
	if !ok {
		return
	}
	if first, _, _ := strings.Cut(text, "\f"); !strings.Contains(first, "one in each measure") || !strings.Contains(first, "F major") {
		t.Errorf("%s: the music does not begin on the page of its title", name)
	}
	music, said, ok := strings.Cut(text, "Findings")
	if !ok || !strings.Contains(music, "G major") && !strings.Contains(music, "minor") && !strings.Contains(music, "major") {
		t.Errorf("%s: the findings do not follow the music", name)
	}
	if got := len(regexp.MustCompile(`measure \S+, beat `).FindAllString(said, -1)); got != findings {
		t.Errorf("%s: %d findings are printed, %d were found", name, got, findings)
	}
}
