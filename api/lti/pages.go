package lti

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"net/http"
	"strings"
)

// The pages that a browser sees between a learning system and this service: short, in
// both languages of the page, and without anything to load.
const (
	pageStore  = "store"  // lets the learning system's window keep the secret of a login
	pageFetch  = "fetch"  // asks for it again
	pageWindow = "window" // offers a window of its own, where cookies are not blocked
	pageReturn = "return" // posts what was chosen back to the learning system
	pageError  = "error"  // says what is wrong
	pageClose  = "close"  // says that the registration is done, and closes itself
)

//go:embed pages.js
var pagesScript string

//go:embed pages.html
var pagesText string

var pages = template.Must(template.New("").Parse(pagesText))

type pageData map[string]string

// scriptHash lets this script run and no other (Content Security Policy 3, 2.3.1).
var scriptHash = func() string {
	sum := sha256.Sum256([]byte(pagesScript))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}()

// writePage answers with a page. A frame of the learning system shows it, so it may be
// framed; it holds nothing that a click could be lured to but a window of our own.
func writePage(w http.ResponseWriter, status int, name string, data pageData) error {
	var out bytes.Buffer
	err := pages.Execute(&out, map[string]any{
		"page": name, "data": data,
		"script": template.HTML("<script>" + pagesScript + "</script>"), // #nosec G203 -- ours, from a file of the program
	})
	if err != nil {
		return err
	}
	header := w.Header()
	header.Set("Content-Type", "text/html; charset=utf-8")
	header.Set("Content-Security-Policy", strings.Join([]string{
		"default-src 'none'", "script-src " + scriptHash, "style-src 'unsafe-inline'", "base-uri 'none'", "frame-ancestors https: http:",
	}, "; "))
	header.Set("Cross-Origin-Resource-Policy", "cross-origin")
	header.Set("Cache-Control", "no-store")
	header.Set("Referrer-Policy", "no-referrer")
	w.WriteHeader(status)
	_, err = w.Write(out.Bytes())
	return err
}

// WriteProblem answers with a page that says what is wrong, for a person in a frame.
func WriteProblem(w http.ResponseWriter, status int, title, detail, advice string) error {
	return writePage(w, status, pageError, pageData{"title": title, "detail": detail, "advice": advice})
}
