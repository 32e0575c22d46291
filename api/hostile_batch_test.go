package api

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/worker/store"
)

// classes are the archives of hand-ins, with how many scores of each are answered and
// how many fail.
var classes = map[string]struct{ done, failed int }{
	"class-bad-third.zip": {4, 1}, "class-mac.zip": {2, 0}, "class-folders.zip": {3, 0}, "class-names.zip": {4, 0}, "class-climb.zip": {2, 0},
}

// Every trap is a batch by itself, marked, with fixes and mended: it is refused, or its
// one score is answered as a single check answers it.
func TestHostileBatches(t *testing.T) {
	all := traps(t)
	canary, err := os.ReadFile(filepath.Join(hostileFolder, "canary.txt"))
	if err != nil {
		t.Fatal(err)
	}
	arrived := listen(t)
	s := newBatchEngine(t, store.Config{Dir: t.TempDir()})
	for _, trap := range all {
		data, err := os.ReadFile(trap.path)
		if err != nil {
			t.Fatal(err)
		}
		r := form(t, "/v1/batches", field{"score", trap.file, string(data)}, field{"mend", "", "true"}, field{"marks", "", "true"}, field{"fixes", "", "1"})
		w := s.do(r)
		if w.Code >= 500 {
			t.Errorf("%s: %d %s", trap.file, w.Code, w.Body)
		}
		if w.Code != http.StatusAccepted {
			if trap.expect == "accept" || trap.expect == "batch" {
				t.Errorf("%s was refused: %d %s", trap.file, w.Code, w.Body)
			}
			continue
		}
		id := decode[Batch](t, w).ID
		done := s.finished(id).Scores
		text := s.do(get("/v1/batches/" + id + "/findings.ndjson")).Body.Bytes()
		if bytes.Contains(text, bytes.TrimSpace(canary)) || bytes.Contains(text, []byte("root:")) || bytes.Contains(text, []byte(".go:")) {
			t.Errorf("%s: the answer shows what it must not: %s", trap.file, text)
		}
		lines := int64(bytes.Count(text, []byte("\n")))
		if lines != int64(done.Total) || done.Done+done.Failed != done.Total {
			t.Errorf("%s: %d answers for %+v", trap.file, lines, done)
		}
		switch class, isClass := classes[trap.file]; {
		case isClass && (int(done.Done) != class.done || int(done.Failed) != class.failed):
			t.Errorf("%s: %+v, want %+v: %s", trap.file, done, class, text)
		case trap.expect == "refuse" && done.Done > 0:
			t.Errorf("%s was read", trap.file)
		case trap.expect == "accept" && done.Failed > 0:
			t.Errorf("%s failed: %s", trap.file, text)
		case trap.expect == "flag" && done.Failed == 0 && !strings.Contains(string(text), `"notices":[{`):
			t.Errorf("%s was read and nothing said", trap.file)
		}
		if done.Failed > 0 && strings.Contains(string(text), `"code":"fault"`) {
			t.Errorf("%s failed by a fault of ours: %s", trap.file, text)
		}
	}
	if n := arrived.Load(); n > 0 {
		t.Errorf("%d connections were opened to an address that a score names", n)
	}
}
