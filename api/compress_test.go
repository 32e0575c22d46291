package api

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"
)

// RFC 9110, 12.5.3: a client says which codings it takes, and q=0 refuses one; 12.5.5: Vary
// says that the answer depends on it. RFC 1952 is read by the standard library here.
func TestAnswersAreCompressed(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	long := strings.Replace(tinyScore, "/>", ">"+strings.Repeat("<part/>\n", 400)+"</score-partwise>", 1)
	container := "PK\x03\x04" + strings.Repeat("x", 4000)
	for _, c := range []struct {
		name    string
		request *http.Request
		packed  bool
		why     string
	}{
		{"rules", get("/v1/rules", "Accept-Encoding", "gzip, deflate, br"), true, "long JSON"},
		{"the contract", get("/v1/openapi.yaml", "Accept-Encoding", "gzip"), true, "long text"},
		{"a marked score", post("/v1/checks", long, "Accept-Encoding", "gzip", "Accept", typeMusicXML), true, "MusicXML is text"},
		{"a packed score", post("/v1/checks", container, "Accept-Encoding", "gzip", "Accept", typeContainer, "Content-Type", typeContainer), false, "a container is compressed already"},
		{"a short answer", get("/healthz", "Accept-Encoding", "gzip"), false, "it would not fit into fewer packets"},
		{"no word about it", get("/v1/rules"), false, "RFC 9110: sent as it is"},
		{"refused", get("/v1/rules", "Accept-Encoding", "gzip;q=0"), false, "q=0 is no"},
		{"another coding", get("/v1/rules", "Accept-Encoding", "br"), false, "one that is not made here"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newRecorder(s.server.Handler(), c.request)
			if w.Code != http.StatusOK {
				t.Fatalf("%d: %.200s", w.Code, w.Body)
			}
			body := w.Body.Bytes()
			if got := w.Header().Get("Content-Encoding") == "gzip"; got != c.packed {
				t.Errorf("compressed: %v, want %v: %s", got, c.packed, c.why)
			} else if got {
				sent := len(body)
				unpacker, err := gzip.NewReader(bytes.NewReader(body))
				if err != nil {
					t.Fatal(err)
				}
				if body, err = io.ReadAll(unpacker); err != nil {
					t.Fatal(err)
				}
				if sent > len(body)/2 {
					t.Errorf("%d bytes of %d are sent", sent, len(body))
				}
			}
			s.conforms(c.request, w.Code, w.Header(), body)
			if vary := strings.Join(w.Header().Values("Vary"), ", "); !strings.Contains(vary, "Accept-Encoding") {
				t.Errorf("Vary: %q", vary)
			}
		})
	}
}

func TestWhatIsCompressible(t *testing.T) {
	for mediaType, want := range map[string]bool{
		"text/event-stream": false, "text/event-stream; charset=utf-8": false, "application/zip": false, typeContainer: false,
		"image/png": false, "": false, "///": false,
		typeJSON: true, "application/problem+json": true, typeMusicXML: true, "text/csv": true, "application/x-ndjson": true,
		"multipart/mixed; boundary=x": true, "text/html; charset=utf-8": true, "image/svg+xml": true,
	} {
		if got := compressible(mediaType); got != want {
			t.Errorf("%s: %v, want %v", mediaType, got, want)
		}
	}
}
