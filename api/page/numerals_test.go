package page_test

import (
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"testing"
)

// TestNumeralsKeepClear writes the harmonies of a chorale that has many, over more than one
// page: each once, and none over another.
func TestNumeralsKeepClear(t *testing.T) {
	pagetest.Chromium(t)
	chorale, err := filepath.Abs("../../../shared/data/chorales-closed/B085.mxl")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(chorale); err != nil {
		t.Skipf("numerals are not looked at: %s is not there", chorale)
	}
	b := pagetest.Browse(t, pagetest.Serve(t), 1280, 900)
	b.Do(pagetest.Script(`const { parse } = JSON; JSON.parse = (...text) => { const read = parse(...text); if (read?.analysis) globalThis.read = read.analysis.harmonies; return read; }`))
	b.Drop(chorale)
	b.Until("all pages are drawn", `document.querySelectorAll('.score-page').length > 1 && [...document.querySelectorAll('.score-page')].every((p) => p.querySelector('.harmony'))`)
	type numerals struct {
		Written, Read int
		Over          []string
	}
	got := pagetest.Value[numerals](b, `(() => {
		const all = [...document.querySelectorAll('.harmony')].flatMap((text) => [...text.querySelectorAll('.key'), text].map((e) => {
			const spans = e === text ? [...text.children].filter((c) => c.localName === 'tspan' && !c.classList.contains('key')) : [e];
			const range = document.createRange();
			range.setStartBefore(spans[0]);
			range.setEndAfter(spans.at(-1));
			const boxes = [...range.getClientRects()];
			return { words: spans.map((s) => s.textContent).join(''), left: Math.min(...boxes.map((r) => r.left)), right: Math.max(...boxes.map((r) => r.right)), middle: (boxes[0].top + boxes[0].bottom) / 2 };
		}));
		const pairs = all.flatMap((a, i) => all.slice(i + 1).map((b) => [a, b])).filter(([a, b]) => Math.abs(a.middle - b.middle) < 6);
		const said = ([a, b]) => a.words + ' ' + b.words;
		return {
			written: document.querySelectorAll('.harmony').length, read: read.length,
			over: pairs.filter(([a, b]) => a.left < b.right - 1 && b.left < a.right - 1).map(said),
		};
	})()`)
	if got.Written != got.Read || got.Read < 20 || len(got.Over) > 0 {
		t.Errorf("of %d harmonies %d are written, over each other %q", got.Read, got.Written, got.Over)
	}
}
