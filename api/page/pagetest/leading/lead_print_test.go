package leading_test

import (
	"bytes"
	"os"
	"os/exec"
	"partwright/api/page/pagetest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestSheetsArePrinted prints the exercise, the model answer and the ways compared, each on
// a page of its own.
func TestSheetsArePrinted(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t)+"/#lead-voices?row=g%3A+bass+G2+F%232%2F6+G2+C3%2F6+D3%2F7%23+G2*3", 1280, 900)
	b.Until("the phrase is engraved", `document.querySelectorAll('.lead-voices .score-page g.note').length > 20`)
	b.Do(chromedp.Evaluate[chromedp.Void](`window.print = () => { window.asked = true; }`),
		chromedp.Evaluate[chromedp.Void](`[...document.querySelectorAll('.phrase .menu')].at(-1).open = true`),
		chromedp.Evaluate[chromedp.Void](`document.querySelectorAll('.phrase .menu input:not(:checked)').forEach((e) => e.click())`),
		chromedp.Evaluate[chromedp.Void](`document.querySelector('.phrase .menu .primary').click()`))
	b.Until("the sheets are laid out", `window.asked && document.querySelectorAll('.printed-sheet').length === 3`)
	// A sign of a music font would be an empty box: the page has no such font.
	if signs := pagetest.Value[int](b, `[...document.querySelector('.printed-sheets').textContent].filter((c) => c >= '\ue000' && c <= '\uf8ff').length`); signs > 0 {
		t.Errorf("%d signs on the sheets have no font", signs)
	}
	pdf := pagetest.Result(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize()))
	if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "sheets.pdf"), pdf, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Log("the text of the PDF is not looked at: pdftotext (poppler-utils) is not installed")
		return
	}
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimRight(string(text), "\f"), "\f")
	for i, title := range []string{"Exercise", "Model answer", "Ways compared"} {
		if i >= len(pages) || !strings.Contains(pages[i], title) {
			t.Errorf("page %d of %d does not show %s", i+1, len(pages), title)
		}
	}
}
