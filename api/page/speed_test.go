package page_test

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// measureSpeed turns on what takes minutes and says how long the page takes.
var measureSpeed = flag.Bool("page-speed", false, "measure how long the page takes for a chorale and two songs")

// TestSpeed says how long it takes from a drop to the first finding and to the first page,
// beside what the engraver alone takes for the same score when it is warm.
func TestSpeed(t *testing.T) {
	if !*measureSpeed {
		t.Skip("speed is measured with -page-speed only")
	}
	chromium(t)
	address := serve(t)
	for name, path := range map[string]string{
		"chorale, 17 measures": "chorales-closed/B085.mxl",
		"song, 83 measures":    "bulk/lieder_Haydn-8-O-tuneful-Voice-Hob-XXVIa42_lc6474359.mxl",
		"song, 197 measures":   "bulk/lieder_Thys-Petit-negre_lc6670960.mxl",
	} {
		full, err := filepath.Abs(filepath.Join("../../../shared/data", path))
		if err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(full); err != nil || info.IsDir() {
			t.Logf("%s is not measured: %s is not there", name, full)
			continue
		}
		for _, warm := range []bool{false, true} {
			b := browse(t, address, 1280, 900)
			if warm {
				b.do(evaluate(engraverModule + `.then((m) => m.engraver.ready()).then(() => undefined)`))
			}
			b.do(evaluate(`addEventListener('drop', () => performance.mark('dropped'), true)`))
			b.drop(full)
			b.until("all is laid out", `performance.getEntriesByName('engraved').length`)
			f := value[map[string]float64](b, `(() => {
				const dropped = performance.getEntriesByName('dropped')[0].startTime;
				const at = (name) => performance.getEntriesByName(name)[0].startTime - dropped;
				const sent = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')];
				return { findings: at('findings'), first: at('first-page'), all: at('engraved'),
					kilobytes: sent.reduce((sum, r) => sum + r.transferSize, 0) / 1000, megabytes: performance.memory.usedJSHeapSize / 1e6 };
			})()`)
			// Once more with everything warm: what the engraver itself needs.
			b.do(evaluate(`performance.clearMarks('engraved')`))
			b.press("Larger notes")
			b.press("Smaller notes")
			b.until("it is laid out again", `!document.querySelector('.score').ariaBusy`)
			alone := value[map[string]float64](b, engraverModule+`.then(({ engraver }) => engraver.took)`)
			t.Logf("%s, engraver ready before %t: first finding after %.0f ms, first page %.0f, all laid out %.0f; the engraver alone, warm: load %.0f, a page %.0f; %.0f kB sent, heap %.0f MB",
				name, warm, f["findings"], f["first"], f["all"], alone["load"], alone["page"], f["kilobytes"], f["megabytes"])
		}
	}
}

const engraverModule = `import(document.querySelector('script[type=module]').src.replace('main.js', 'engraver.js'))`

func evaluate(expression string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](expression, chromedp.EvalAwaitPromise)
}
