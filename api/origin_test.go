package api

import (
	"fmt"
	"net/http"
	"testing"
)

func TestPagesOfOtherSitesStayOut(t *testing.T) {
	const own = "127.0.0.1:8080"
	for _, c := range []struct {
		name, host, header string
		here               bool
		status             int
		why                string
	}{
		{"a program", own, "", true, http.StatusOK, "it sends no header of a browser"},
		{"by name", "localhost:8080", "", true, http.StatusOK, "RFC 6761"},
		{"IPv6", "[::1]:8080", "", true, http.StatusOK, "an address"},
		{"rebinding", "site.example.org", "", true, http.StatusMisdirectedRequest, "the name of a site that was made to mean this machine"},
		{"almost", "localhost.example.org", "", true, http.StatusMisdirectedRequest, "a site that calls itself so"},
		{"a form of another site", own, "Sec-Fetch-Site: cross-site\n", true, http.StatusForbidden, "the browser says where it comes from"},
		{"an older browser", own, "Origin: https://site.example.org\n", true, http.StatusForbidden, "it sends Origin only"},
		{"a page of this service", own, "Sec-Fetch-Site: same-origin\n", true, http.StatusOK, "the same origin"},
		{"allowed", "site.example.org", "", false, http.StatusOK, "something in front has its own name"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := serve(t, &fakePool{}, Config{AllowAnyone: !c.here})
			w := l.dial(t)
			w.send(fmt.Sprintf("POST /v1/checks HTTP/1.1\nHost: %s\n%sContent-Type: application/xml\nContent-Length: %d\n\n%s", c.host, c.header, len(tinyScore), tinyScore))
			if answer := w.answer(); answer.StatusCode != c.status {
				t.Errorf("%d, want %d: %s", answer.StatusCode, c.status, c.why)
			}
		})
	}
}
