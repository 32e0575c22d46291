package api

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// get asks for a file of the page, which stands in no contract.
func (s *service) get(method, path string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, nil)
	r.Host = "127.0.0.1:8080"
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.server.public.Handler.ServeHTTP(w, r)
	return w
}

// TestPageIsServed holds the page to its policy (W3C, Content Security Policy Level 3):
// its own files only, no script or style in markup, and WebAssembly in the engraver's
// worker alone. Files under the version may be kept, the page itself is asked for anew.
func TestPageIsServed(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	version := "/page/" + s.server.handlers.page.Version() + "/"
	for _, c := range []struct {
		path, policy, without, cache string
		status                       int
	}{
		{"/", "script-src 'self'; style-src 'self'", "unsafe", "no-cache", http.StatusOK},
		{"/", "require-trusted-types-for 'script'", "unsafe", "no-cache", http.StatusOK},
		{version + "js/engraver-worker.js", "'wasm-unsafe-eval'", "unsafe-inline", "immutable", http.StatusOK},
		{version + "js/main.js", "default-src 'none'", "unsafe", "immutable", http.StatusOK},
		{version + "engraver/LGPL-3.0.txt", "default-src 'none'", "unsafe", "immutable", http.StatusOK},
		{version + "words/de.json", "default-src 'none'", "unsafe", "immutable", http.StatusOK},
		{version + "../page.go", "default-src 'none'", "unsafe", "no-store", http.StatusNotFound},
		{version, "default-src 'none'", "unsafe", "no-store", http.StatusNotFound},
		{"/page/another/js/main.js", "default-src 'none'", "unsafe", "no-store", http.StatusNotFound},
	} {
		w := s.get(http.MethodGet, c.path)
		policy := w.Header().Get("Content-Security-Policy")
		if w.Code != c.status || !strings.Contains(policy, c.policy) || strings.Contains(policy, c.without) ||
			!strings.Contains(w.Header().Get("Cache-Control"), c.cache) {
			t.Errorf("%s: %d, %q, %q", c.path, w.Code, policy, w.Header().Get("Cache-Control"))
		}
		if c.status == http.StatusOK && (s.get(http.MethodHead, c.path).Code != http.StatusOK ||
			s.get(http.MethodGet, c.path, "If-None-Match", w.Header().Get("ETag")).Code != http.StatusNotModified) {
			t.Errorf("%s: HEAD or a client that has it is not answered so", c.path)
		}
	}
	if page := s.get(http.MethodGet, "/").Body.String(); strings.Contains(page, "{") || strings.Contains(page, "<style") || !strings.Contains(page, version) {
		t.Errorf("the page is not filled in: %s", page)
	}
}

// TestPageIsSentPacked wants the engraver as it is kept where brotli is taken, which
// browsers do over https and on this machine, else in gzip.
func TestPageIsSentPacked(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	path := "/page/" + s.server.handlers.page.Version() + "/engraver/verovio-module.mjs"
	for accepted, want := range map[string]string{"gzip, br": "br", "gzip, br;q=0": "gzip", "gzip;q=0.5": "gzip", "": "", "identity": ""} {
		w := s.get(http.MethodGet, path, "Accept-Encoding", accepted)
		if got := w.Header().Get("Content-Encoding"); got != want {
			t.Errorf("%q is answered with %q, want %q", accepted, got, want)
		}
		if size := w.Body.Len(); want != "" && size > 3_000_000 || want == "" && size < 7_000_000 {
			t.Errorf("%q: %d bytes", accepted, size)
		}
	}
}
