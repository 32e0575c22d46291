package api

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"partwright/worker/pool"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A lean line of a batch is the line without why and source of findings, and nothing else
// is missing or changed; a failure has its line.
func TestLeanLinesLackReasonAndSourceAlone(t *testing.T) {
	p := enginePool(t, nil, pool.Config{})
	s := newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, store.Config{Dir: t.TempDir()}), p)})
	id := decode[Batch](t, s.do(post("/v1/batches?analysis=true", zipped([]sent{
		{"hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}, {"broken.musicxml", "<score-partwise>"},
	}), "Content-Type", "application/zip"))).ID
	s.finished(id)
	lines := func(query string) (all []map[string]any, size int) {
		t.Helper()
		w := s.do(get("/v1/batches/" + id + "/findings.ndjson" + query))
		for line := range bytes.Lines(w.Body.Bytes()) {
			var one map[string]any
			if err := json.Unmarshal(line, &one); err != nil {
				t.Fatalf("%v: %.200s", err, line)
			}
			all = append(all, one)
		}
		return all, w.Body.Len()
	}
	full, long := lines("")
	lean, short := lines("?lean=true")
	if len(full) != 2 || len(lean) != 2 || short >= long {
		t.Fatalf("%d lines of %d bytes, %d lean ones of %d", len(full), long, len(lean), short)
	}
	taken := 0
	for _, report := range full {
		findings, _ := report["findings"].([]any)
		for _, f := range findings {
			finding := f.(map[string]any)
			if finding["why"] == "" || finding["source"] == "" {
				t.Errorf("a full line has no reason or source: %v", finding)
			}
			delete(finding, "why")
			delete(finding, "source")
			taken++
		}
	}
	if taken == 0 || !reflect.DeepEqual(full, lean) {
		t.Errorf("%d findings; lean lines are\n%v\nwant\n%v", taken, lean, full)
	}
	if w := s.do(get("/v1/batches/" + id + "/findings.ndjson?lean=perhaps")); w.Code != 400 || !strings.Contains(w.Body.String(), "lean") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}
