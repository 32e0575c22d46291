package page_test

import (
	"bytes"
	"cmp"
	"flag"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

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

// TestFindingsComeFirst drops a short and a long score on a page whose engraver is ready:
// nothing but the check is asked for before the findings are there, and the engraver is asked
// after them: once for a short score, for the beginning of a long one and then for all of it.
func TestFindingsComeFirst(t *testing.T) {
	pagetest.Chromium(t)
	address := pagetest.Serve(t)
	for _, c := range []struct {
		path string
		want []string
	}{
		{pagetest.Class(t, "hand-in.musicxml"), []string{"all"}},
		{longest(t, 60), []string{"12", "all"}},
	} {
		b := pagetest.Browse(t, address, 1280, 900)
		b.Do(evaluate(engraverModule + `.then((m) => m.engraver.practised)`))
		b.Do(pagetest.Script(`addEventListener('drop', () => performance.mark('dropped'), true);
			globalThis.asked = [];
			const { postMessage } = Worker.prototype;
			Worker.prototype.postMessage = function (what) {
				if (what.task === 'load') asked.push({ at: performance.now(), measures: String(what.layout.measures ?? 'all') });
				return postMessage.call(this, what);
			}`))
		b.Drop(c.path)
		b.Until("all is laid out", `performance.getEntriesByName('engraved').length`)
		type order struct {
			Requests, Measures []string
			First              bool
		}
		got := pagetest.Value[order](b, `(() => {
			const at = (name) => performance.getEntriesByName(name)[0].startTime;
			return {
				requests: performance.getEntriesByType('resource').filter((r) => r.startTime > at('dropped') && r.startTime < at('findings')).map((r) => new URL(r.name).pathname),
				measures: asked.map((a) => a.measures), first: asked.every((a) => a.at >= at('findings')),
			};
		})()`)
		if !slices.Equal(got.Requests, []string{"/v1/revisions"}) {
			t.Errorf("before the findings %q are asked for", got.Requests)
		}
		if !slices.Equal(got.Measures, c.want) || !got.First {
			t.Errorf("the engraver is asked for the measures %q, after the findings: %t; want %q", got.Measures, got.First, c.want)
		}
	}
}

// TestSpeed says how long it takes from a drop to the first finding, to the first page and
// until all pages are laid out, as ratios to what the engraver alone takes for the same score
// in the same run when it is warm, and where the time goes; what is sent; and what memory the
// browser's process takes that holds the page and the engraver's worker. The middle of three
// runs is said.
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
		serviceAlone(t, score.name, address, full)
		for _, ready := range []bool{false, true} {
			var runs []map[string]float64
			for range 3 {
				runs = append(runs, dropped(t, address, full, ready))
			}
			f := map[string]float64{}
			for name := range runs[0] {
				slices.SortFunc(runs, func(a, b map[string]float64) int { return cmp.Compare(a[name], b[name]) })
				f[name] = runs[len(runs)/2][name]
			}
			once := f["load"] + f["draw"]
			t.Logf("%s, engraver ready before: %t\n  the engraver alone, warm: %.0f ms (load %.0f, a page %.0f)\n"+
				"  first finding %.0f ms, %.2f of it; first page %.0f, %.2f of it; all laid out %.0f, %.2f of it\n"+
				"  of these: until the score is sent %.0f, until the answer begins %.0f, is there %.0f, is read %.0f, is shown %.0f, until the engraver answers %.0f, until that is shown %.0f\n"+
				"  sent: engraver %.0f kB, the rest of the page %.0f kB, answers %.0f kB\n  memory of the browser's process: %.0f MB before, %.0f MB after",
				score.name, ready, once, f["load"], f["draw"], f["findings"], f["findings"]/once, f["first-page"], f["first-page"]/once, f["engraved"], f["engraved"]/once,
				f["asked"], f["begins"]-f["asked"], f["ends"]-f["begins"], f["answered"]-f["ends"], f["findings"]-f["answered"], f["engraver-answered"]-f["findings"], f["first-page"]-f["engraver-answered"],
				f["engraver"], f["page"], f["answers"], f["before"], f["after"])
			if f["findings"] > f["first-page"] {
				t.Errorf("%s: the first finding waits for the engraver", score.name)
			}
		}
	}
}

// dropped is one run: a score is dropped on a page that has just been opened. Times are in
// milliseconds from the drop.
func dropped(t *testing.T, address, score string, ready bool) map[string]float64 {
	t.Helper()
	b := pagetest.Browse(t, address, 1280, 900)
	if ready {
		b.Do(evaluate(engraverModule + `.then((m) => m.engraver.practised)`))
	}
	before := memory(b)
	b.Do(evaluate(`addEventListener('drop', () => performance.mark('dropped'), true)`))
	b.Drop(score)
	b.Until("all is laid out", `performance.getEntriesByName('engraved').length`)
	f := pagetest.Value[map[string]float64](b, `(() => {
		const dropped = performance.getEntriesByName('dropped')[0].startTime;
		const sent = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')];
		const size = (which) => sent.filter((r) => which.test(r.name)).reduce((sum, r) => sum + r.transferSize, 0) / 1000;
		const { responseStart, responseEnd } = sent.find((r) => r.name.endsWith('/v1/revisions'));
		const at = { begins: responseStart - dropped, ends: responseEnd - dropped, page: size(/\/page\/|\/$/), answers: size(/\/v1\//) };
		for (const name of ['asked', 'answered', 'findings', 'engraver-answered', 'first-page', 'engraved']) at[name] = performance.getEntriesByName(name)[0].startTime - dropped;
		return at;
	})()`)
	f["before"], f["after"] = before, memory(b)
	// The engraver's files were asked for by its worker, which keeps its own account.
	f["engraver"] = pagetest.Value[float64](b, `(async () => {
		const base = new URL('../engraver/', document.querySelector('script[type=module]').src);
		const names = ['verovio-module.mjs', 'verovio.mjs'].map((name) => String(new URL(name, base)));
		for (const name of names) await (await fetch(name)).arrayBuffer();
		return names.reduce((sum, name) => sum + performance.getEntriesByName(name).at(-1).encodedBodySize, 0) / 1000;
	})()`)
	// Over and over with everything warm: what the engraver itself needs at the least.
	for range 3 {
		b.Press("Larger notes")
		b.Until("it is laid out again", `!document.querySelector('.score').ariaBusy`)
		b.Press("Smaller notes")
		b.Until("it is laid out again", `!document.querySelector('.score').ariaBusy`)
		took := pagetest.Value[map[string]float64](b, engraverModule+`.then(({ engraver }) => engraver.took)`)
		if once, known := f["load"]; !known || took["load"]+took["page"] < once+f["draw"] {
			f["load"], f["draw"] = took["load"], took["page"]
		}
	}
	return f
}

// serviceAlone says what the check that the page asks for takes without a browser.
func serviceAlone(t *testing.T, name, address, score string) {
	t.Helper()
	var took []time.Duration
	size := 0
	for range 7 {
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		part, _ := form.CreateFormFile("score", filepath.Base(score))
		_, _ = part.Write([]byte(pagetest.ReadText(t, score)))
		for _, field := range []string{"ids", "notes", "analysis"} {
			_ = form.WriteField(field, "true")
		}
		_ = form.Close()
		request, err := http.NewRequest(http.MethodPost, address+"/v1/revisions", &body)
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Content-Type", form.FormDataContentType())
		request.Header.Set("Accept", "multipart/mixed")
		began := time.Now()
		answer, err := http.DefaultClient.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(answer.Body)
		_ = answer.Body.Close()
		if err != nil || answer.StatusCode != http.StatusOK {
			t.Fatal(answer.Status, err)
		}
		took, size = append(took, time.Since(began)), len(text)
	}
	first := took[0]
	slices.Sort(took)
	t.Logf("%s, the service alone: first %v, middle of 7 %v, %d kB unpacked", name, first.Round(time.Millisecond), took[len(took)/2].Round(time.Millisecond), size/1000)
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
