package page_test

import (
	"encoding/json"

	"github.com/chromedp/chromedp"
)

func script(text string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](text)
}

// set gives a field of a form a value, as if it had been typed or chosen.
func set(selector, value, event string) chromedp.Action[chromedp.Void] {
	s, _ := json.Marshal(selector)
	v, _ := json.Marshal(value)
	return script(`(() => { const e = document.querySelector(` + string(s) + `); e.focus(); e.value = ` + string(v) + `; e.dispatchEvent(new Event('` + event + `', { bubbles: true })); })()`)
}

func typed(selector, text string) chromedp.Action[chromedp.Void] { return set(selector, text, "input") }

func chosen(selector, value string) chromedp.Action[chromedp.Void] {
	return set(selector, value, "change")
}
