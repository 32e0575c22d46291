package api

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"partwright/worker/store"
)

// parted is a batch that is finished, and the addresses of its files.
func (s *service) parted(t *testing.T) (id string, files []string) {
	t.Helper()
	made := decode[Batch](t, s.do(postArchive(t, "/v1/batches?marks=true")))
	s.finished(made.ID)
	for _, name := range []string{
		"findings.ndjson", "findings.ndjson?lean=true", "findings.csv", "marked.zip", "answers.zip", "finding-statistics.csv", "harmony-statistics.csv",
		"tables/scores", "tables/findings",
	} {
		files = append(files, "/v1/batches/"+made.ID+"/"+name)
	}
	return made.ID, files
}

// RFC 9110, 13 and 14: a download that broke off goes on where it was, as long as the file
// is the same; what was had is not sent again.
func TestDownloadsGoOnWhereTheyBrokeOff(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	id, files := s.parted(t)
	tags := map[string]string{}
	for _, address := range files {
		t.Run(address[len("/v1/batches/")+len(id)+1:], func(t *testing.T) {
			whole := s.do(get(address))
			tag := whole.Header().Get("ETag")
			if whole.Code != http.StatusOK || tag == "" || strings.HasPrefix(tag, "W/") || whole.Header().Get("Accept-Ranges") != "bytes" {
				t.Fatalf("the whole: %d %v", whole.Code, whole.Header())
			}
			if other := tags[tag]; other != "" {
				t.Errorf("it has the ETag of %s", other)
			}
			tags[tag] = address
			body := whole.Body.Bytes()
			half, last := len(body)/2, len(body)-1
			for _, c := range []struct {
				why    string
				header []string
				status int
				from   int // of the body
				until  int
			}{
				{"the rest", []string{"Range", fmt.Sprintf("bytes=%d-", half)}, 206, half, last},
				{"the rest of the same", []string{"Range", fmt.Sprintf("bytes=%d-", half), "If-Range", tag}, 206, half, last},
				{"the rest, where gzip is taken", []string{"Range", fmt.Sprintf("bytes=%d-", half), "Accept-Encoding", "gzip"}, 206, half, last},
				{"the middle", []string{"Range", fmt.Sprintf("bytes=3-%d", half)}, 206, 3, half},
				{"the end", []string{"Range", "bytes=-5"}, 206, len(body) - 5, last},
				{"more than there is", []string{"Range", "bytes=1-99999999"}, 206, 1, last},
				{"the rest of another", []string{"Range", fmt.Sprintf("bytes=%d-", half), "If-Range", `"another"`}, 200, 0, last},
				{"the rest of what was compressed", []string{"Range", fmt.Sprintf("bytes=%d-", half), "If-Range", strings.TrimSuffix(tag, `"`) + `-gzip"`}, 200, 0, last},
				{"a unit that is not known", []string{"Range", "lines=1-2"}, 200, 0, last},
				{"a unit that is not known, of this", []string{"Range", "lines=1-2", "If-Match", tag}, 200, 0, last},
				{"nothing that is there", []string{"Range", fmt.Sprintf("bytes=%d-", len(body))}, 416, 0, -1},
				{"what was had", []string{"If-None-Match", tag}, 304, 0, -1},
				{"what was had compressed", []string{"If-None-Match", strings.TrimSuffix(tag, `"`) + `-gzip"`}, 304, 0, -1},
				{"not what was had", []string{"If-None-Match", `"another"`}, 200, 0, last},
				{"only another", []string{"If-Match", `"another"`}, 412, 0, -1},
				{"only this", []string{"If-Match", tag}, 200, 0, last},
			} {
				w := s.do(get(address, c.header...))
				if w.Code != c.status {
					t.Errorf("%s: %d, want %d: %.200s", c.why, w.Code, c.status, w.Body)
					continue
				}
				if c.until >= 0 && !bytes.Equal(w.Body.Bytes(), body[c.from:c.until+1]) {
					t.Errorf("%s: %d bytes, want those from %d to %d", c.why, w.Body.Len(), c.from, c.until)
				}
				if want := fmt.Sprintf("bytes %d-%d/%d", c.from, c.until, len(body)); c.status == 206 && w.Header().Get("Content-Range") != want {
					t.Errorf("%s: Content-Range %s, want %s", c.why, w.Header().Get("Content-Range"), want)
				}
				if c.status == 416 || c.status == 412 {
					s.problem(w)
				}
			}
		})
	}
}

// RFC 9110, 14.6: several parts come as multipart/byteranges.
func TestSeveralPartsOfADownload(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	_, files := s.parted(t)
	body := s.do(get(files[0])).Body.String()
	w := s.do(get(files[0], "Range", "bytes=0-4,10-19"))
	mediaType, params, err := mime.ParseMediaType(w.Header().Get("Content-Type"))
	if err != nil || w.Code != http.StatusPartialContent || mediaType != "multipart/byteranges" {
		t.Fatalf("%d %s", w.Code, w.Header().Get("Content-Type"))
	}
	r := multipart.NewReader(w.Body, params["boundary"])
	for _, want := range []string{body[0:5], body[10:20]} {
		part, err := r.NextPart()
		if err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(part); err != nil || string(got) != want {
			t.Errorf("the part %q, %v, want %q", got, err, want)
		}
	}
}

// Whoever goes on with what was changed meanwhile gets the whole of what is there now.
func TestPartsAreOfOneFile(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	id, files := s.parted(t)
	first := s.do(get(files[0]))
	if w := s.do(httptest.NewRequest(http.MethodDelete, "/v1/batches/"+id+"/scores/1", nil)); w.Code != http.StatusNoContent {
		t.Fatalf("deleting a score: %d", w.Code)
	}
	now := s.do(get(files[0]))
	w := s.do(get(files[0], "Range", "bytes=10-", "If-Range", first.Header().Get("ETag")))
	if w.Code != http.StatusOK || !bytes.Equal(w.Body.Bytes(), now.Body.Bytes()) || now.Body.Len() >= first.Body.Len() {
		t.Errorf("%d with %d bytes; there were %d and are %d", w.Code, w.Body.Len(), first.Body.Len(), now.Body.Len())
	}
	// An open batch grows: its files have no parts.
	open := decode[Batch](t, s.do(httptest.NewRequest(http.MethodPost, "/v1/batches", nil)))
	w = s.do(get("/v1/batches/"+open.ID+"/findings.csv", "Range", "bytes=0-3"))
	if w.Code != http.StatusOK || w.Header().Get("ETag") != "" || w.Header().Get("Accept-Ranges") != "" {
		t.Errorf("an open batch: %d %v", w.Code, w.Header())
	}
}

// RFC 9110, 8.8.3.3: what is compressed on the way is another representation.
func TestCompressedDownloadsHaveTheirOwnTag(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	_, files := s.parted(t)
	plain := s.do(get(files[0]))
	packed := newRecorder(s.server.Handler(), get(files[0], "Accept-Encoding", "gzip"))
	if packed.Header().Get("Content-Encoding") != "gzip" {
		t.Skip("the answer is too short to be compressed")
	}
	if a, b := plain.Header().Get("ETag"), packed.Header().Get("ETag"); a == b {
		t.Errorf("both have the ETag %s", a)
	}
	r, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(r); err != nil || !bytes.Equal(text, plain.Body.Bytes()) {
		t.Errorf("unpacked it is %q, %v", text, err)
	}
}
