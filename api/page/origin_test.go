package page_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"partwright/api/page/pagetest"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// TestOtherSitesAreKeptOut lets a page of another origin do in a real browser what it can
// to a service on the same machine: send a score, read an answer, show the page in a frame
// (W3C Fetch Metadata; CSP Level 3, frame-ancestors).
func TestOtherSitesAreKeptOut(t *testing.T) {
	address := pagetest.Serve(t)
	site := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = fmt.Fprint(w, `<!doctype html><title>another site</title><main><div class="view"></div></main>`)
	}))
	defer site.Close()
	b := pagetest.Browse(t, site.URL, 800, 600)
	var mu sync.Mutex
	var statuses []int64
	if err := chromedp.Listen(b.Ctx, func(event any) {
		if e, ok := event.(*network.EventResponseReceivedExtraInfo); ok {
			mu.Lock()
			defer mu.Unlock()
			statuses = append(statuses, e.StatusCode)
		}
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(b.Ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	b.Do(evaluate(`fetch('` + address + `/v1/checks', {method: 'POST', mode: 'no-cors', body: 'x'}).catch(() => undefined).then(() => undefined)`))
	mu.Lock()
	// The other site's own icon may be among them, before or after; that site refuses nothing.
	if !slices.Contains(statuses, http.StatusForbidden) {
		t.Errorf("a score from another site is answered %v", statuses)
	}
	mu.Unlock()
	if pagetest.Value[bool](b, `fetch('`+address+`/v1/rules').then(() => true, () => false)`) {
		t.Error("another site may read an answer")
	}
	b.Do(evaluate(`new Promise((done) => { const f = document.createElement('iframe'); f.src = '` + address + `/'; f.onload = () => done(); document.body.append(f); })`))
	framed := true
	for _, wrong := range b.Wrongs() { // what was refused is what was wanted
		framed = framed && !strings.Contains(wrong, "frame-ancestors") && !strings.Contains(wrong, "frame")
	}
	if framed {
		t.Error("another site may show the page in a frame")
	}
}
