package api

import (
	"fmt"
	"mime"
	"net/http"
	"slices"
	"strings"

	"github.com/klauspost/compress/gzhttp"
)

// compressed answers with gzip where the client takes it (RFC 9110, 12.5.3) and the answer
// is long enough and not compressed already.
func compressed(handler http.Handler) (http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(
		gzhttp.EnableZstd(false), // gzip is what every client takes; its writers need less memory
		gzhttp.ContentTypeFilter(compressible),
		gzhttp.SuffixETag(compressedTag), // its bytes are others (RFC 9110, 8.8.3)
	)
	if err != nil {
		return nil, fmt.Errorf("compressing answers: %w", err)
	}
	return wrap(handler), nil
}

// compressible reports whether an answer of a media type becomes shorter: text in all its
// forms does, a container, an archive or a picture does not. A stream of events is sent as
// it comes.
func compressible(header string) bool {
	mediaType, _, err := mime.ParseMediaType(header)
	if err != nil || mediaType == typeEvents {
		return false
	}
	kind, subtype, _ := strings.Cut(mediaType, "/")
	return kind == "text" || slices.Contains(textual, mediaType) ||
		strings.HasSuffix(subtype, "+json") || strings.HasSuffix(subtype, "+xml")
}

// textual are the media types of text that do not say so by their names. The parts of an
// answer in parts are mostly text.
var textual = []string{typeJSON, typeMixed, typeMIDI, "application/x-ndjson", "application/yaml", "application/javascript", "application/wasm"}

// dependsOn says which fields of a request an answer depends on, beside Accept-Encoding.
func dependsOn(header http.Header, fields string) { header.Add("Vary", fields) }
