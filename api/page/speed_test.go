package page_test

import (
	"flag"
	"fmt"
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// measureSpeed turns on what takes minutes and says how long the page takes.
var measureSpeed = flag.Bool("page-speed", false, "measure how long the page takes for a chorale, a song and 300 measures")

// longest is a score of so many measures, made of the demo class's hand-in over and over.
func longest(t *testing.T, measures int) string {
	t.Helper()
	text := pagetest.ReadText(t, pagetest.Class(t, "hand-in.musicxml"))
	part := regexp.MustCompile(`(?s)(<part id="[^"]*">)(.*?)(</part>)`)
	measure := regexp.MustCompile(`(?s)<measure number="\d+".*?</measure>`)
	text = part.ReplaceAllStringFunc(text, func(all string) string {
		in := part.FindStringSubmatch(all)
		written := measure.FindAllString(in[2], -1)
		var b strings.Builder
		for i := range measures {
			one := regexp.MustCompile(`<measure number="\d+"`).ReplaceAllString(written[i%len(written)], `<measure number="`+strconv.Itoa(i+1)+`"`)
			if i > 0 {
				one = regexp.MustCompile(`(?s)<attributes>.*?</attributes>`).ReplaceAllString(one, "")
			}
			b.WriteString(one)
		}
		return in[1] + b.String() + in[3]
	})
	path := filepath.Join(t.TempDir(), fmt.Sprintf("%d-measures.musicxml", measures))
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestLongScoreIsDrawnByPage scrolls through 300 measures: only pages near what is seen are
// drawn, those that are left behind are freed, and every page is drawn when it is seen.
func TestLongScoreIsDrawnByPage(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Drop(longest(t, 300))
	b.Until("all is laid out", `performance.getEntriesByName('engraved').length && !document.querySelector('.score').ariaBusy`)
	pages := pagetest.Value[int](b, `document.querySelectorAll('.score-page').length`)
	if pages < 12 {
		t.Fatalf("300 measures have %d pages: the test shows nothing", pages)
	}
	const drawn = `document.querySelectorAll('.score-page > svg:not(.marks)').length`
	most := 0
	for page := range pages {
		seen := fmt.Sprintf(`document.querySelectorAll('.score-page')[%d]`, page)
		b.Do(pagetest.Script(seen + `.scrollIntoView({ block: 'center', behavior: 'instant' })`))
		b.Until("the page that is seen is drawn", seen+`.querySelector('g.note')`)
		most = max(most, pagetest.Value[int](b, drawn))
	}
	t.Logf("of %d pages at most %d were drawn at a time", pages, most)
	if most > 8 {
		t.Errorf("of %d pages %d are drawn at a time", pages, most)
	}
	// The list leads to a place that is not drawn.
	b.Do(pagetest.Script(`document.querySelector('.item button').click()`))
	b.Until("the place of the first finding is drawn and seen", `(() => { const ring = document.querySelector('.ring'); const box = ring?.getBoundingClientRect(); return box && box.top >= 0 && box.bottom <= innerHeight; })()`)
}

// TestSpeed says how long it takes from a drop to the first finding, to the first page and
// until all pages are laid out, as ratios to what the engraver alone takes for the same score
// in the same run when it is warm; what is sent; and what memory the browser's process takes
// that holds the page and the engraver's worker.
func TestSpeed(t *testing.T) {
	if !*measureSpeed {
		t.Skip("speed is measured with -page-speed only")
	}
	pagetest.Chromium(t)
	address := pagetest.Serve(t)
	for _, score := range []struct{ name, path string }{
		{"chorale, 17 measures", "../../../shared/data/chorales-closed/B085.mxl"},
		{"song, 83 measures", "../../../shared/data/bulk/lieder_Haydn-8-O-tuneful-Voice-Hob-XXVIa42_lc6474359.mxl"},
		{"four voices, 300 measures", longest(t, 300)},
	} {
		full, err := filepath.Abs(score.path)
		if err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(full); err != nil || info.IsDir() {
			t.Logf("%s is not measured: %s is not there", score.name, full)
			continue
		}
		for _, warm := range []bool{false, true} {
			b := pagetest.Browse(t, address, 1280, 900)
			if warm {
				b.Do(evaluate(engraverModule + `.then((m) => m.engraver.ready()).then(() => undefined)`))
			}
			ready := memory(b)
			b.Do(evaluate(`addEventListener('drop', () => performance.mark('dropped'), true)`))
			b.Drop(full)
			b.Until("all is laid out", `performance.getEntriesByName('engraved').length`)
			f := pagetest.Value[map[string]float64](b, `(() => {
				const dropped = performance.getEntriesByName('dropped')[0].startTime;
				const at = (name) => performance.getEntriesByName(name)[0].startTime - dropped;
				const sent = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')];
				const size = (which) => sent.filter((r) => which.test(r.name)).reduce((sum, r) => sum + r.transferSize, 0) / 1000;
				return { findings: at('findings'), first: at('first-page'), all: at('engraved'), page: size(/\/page\/|\/$/), answers: size(/\/v1\//) };
			})()`)
			// The engraver's files were asked for by its worker, which keeps its own account.
			f["engraver"] = pagetest.Value[float64](b, `(async () => {
				const base = new URL('../engraver/', document.querySelector('script[type=module]').src);
				const names = ['verovio-module.mjs', 'verovio.mjs'].map((name) => String(new URL(name, base)));
				for (const name of names) await (await fetch(name)).arrayBuffer();
				return names.reduce((sum, name) => sum + performance.getEntriesByName(name).at(-1).encodedBodySize, 0) / 1000;
			})()`)
			held := memory(b)
			// Once more with everything warm: what the engraver itself needs.
			b.Do(evaluate(`performance.clearMarks('engraved')`))
			b.Press("Larger notes")
			b.Press("Smaller notes")
			b.Until("it is laid out again", `!document.querySelector('.score').ariaBusy`)
			alone := pagetest.Value[map[string]float64](b, engraverModule+`.then(({ engraver }) => engraver.took)`)
			once := alone["load"] + alone["page"]
			t.Logf("%s, engraver ready before: %t\n  the engraver alone, warm: %.0f ms (load %.0f, a page %.0f)\n  first finding %.0f ms, %.2f of it; first page %.0f, %.2f of it; all laid out %.0f, %.2f of it; the first finding before the first page: %t\n  sent: engraver %.0f kB, the rest of the page %.0f kB, answers %.0f kB\n  memory of the browser's process: %.0f MB before, %.0f MB after",
				score.name, warm, once, alone["load"], alone["page"], f["findings"], f["findings"]/once, f["first"], f["first"]/once, f["all"], f["all"]/once, f["findings"] < f["first"],
				f["engraver"], f["page"], f["answers"], ready, held)
			// An engraver that is ready draws while the service checks; one that is not is not
			// waited for.
			if !warm && f["findings"] > f["first"] {
				t.Errorf("%s: the first finding waits for an engraver that is not ready", score.name)
			}
		}
	}
}

// memory is what the largest of this test's browser processes that show pages holds in
// memory, in megabytes, by Linux's /proc; 0 elsewhere.
func memory(b *pagetest.Tab) float64 {
	b.T.Helper()
	type process struct {
		parent   int
		renderer bool
		resident float64
	}
	all := map[int]process{}
	folders, _ := filepath.Glob("/proc/[0-9]*")
	for _, folder := range folders {
		status, err := os.ReadFile(folder + "/status") // #nosec G304 -- the system's own
		if err != nil {
			continue // it has ended
		}
		command, _ := os.ReadFile(folder + "/cmdline") // #nosec G304 -- the system's own
		id, _ := strconv.Atoi(filepath.Base(folder))
		field := func(name string) int {
			found := regexp.MustCompile(name + `:\s+(\d+)`).FindSubmatch(status)
			if found == nil {
				return 0
			}
			n, _ := strconv.Atoi(string(found[1]))
			return n
		}
		all[id] = process{field("PPid"), strings.Contains(string(command), "--type=renderer"), float64(field("VmRSS")) / 1000}
	}
	most := 0.0
	for id, p := range all {
		for above := id; p.renderer && above > 1; above = all[above].parent {
			if above == os.Getpid() {
				most = max(most, p.resident)
			}
		}
	}
	return most
}

const engraverModule = `import(document.querySelector('script[type=module]').src.replace('main.js', 'engraver.js'))`

func evaluate(expression string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](expression, chromedp.EvalAwaitPromise)
}
