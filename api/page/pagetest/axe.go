package pagetest

import (
	"os"
	"strings"

	"github.com/chromedp/chromedp"
)

const axeFile = "node_modules/axe-core/axe.min.js"

// Axe runs axe-core's rules of WCAG 2.0 to 2.2, A and AA, in the light and in the dark,
// and fails on what they find. Without axe-core it says so.
func (b *Tab) Axe(state string) {
	b.T.Helper()
	script, err := os.ReadFile(above(axeFile)) // #nosec G304 -- the test's own words
	if err != nil {
		b.T.Logf("%s: not held to WCAG, axe-core is not installed: npm ci --prefix api/page", state)
		return
	}
	if !Value[bool](b, "Boolean(window.axe)") {
		b.Do(chromedp.Evaluate[chromedp.Void](string(script) + "\n;undefined"))
	}
	for _, light := range []string{"light", "dark"} {
		b.Do(chromedp.Evaluate[chromedp.Void](`document.documentElement.dataset.light = "` + light + `"`))
		found := Value[[]string](b, `axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}).then((r) =>
			r.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.target.join(' ') + ' ' + n.failureSummary).join('; ')))`)
		for _, violation := range found {
			b.T.Errorf("%s, %s: %s", state, light, strings.ReplaceAll(violation, "\n", " "))
		}
		b.Picture(strings.NewReplacer(" ", "-", ",", "").Replace(state) + "-" + light)
	}
	b.Do(chromedp.Evaluate[chromedp.Void](`delete document.documentElement.dataset.light`))
}
