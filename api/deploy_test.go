package api

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// What the operator's files name must be there.
func TestScrapeExampleFitsTheService(t *testing.T) {
	scrape, err := os.ReadFile("../deploy/prometheus/prometheus.yml")
	if err != nil {
		t.Fatal(err)
	}
	if addr := (Config{}).withDefaults().OperatorAddr; !strings.Contains(string(scrape), `"`+addr+`"`) {
		t.Errorf("prometheus.yml does not scrape %s", addr)
	}
	guide, err := os.ReadFile("../deploy/prometheus/README.md")
	if err != nil {
		t.Fatal(err)
	}
	s := newService(t, &fakePool{}, Config{})
	_, err = batch.Open(t.Context(), batch.Config{
		Store: storetest.Open(t, store.Config{Dir: t.TempDir()}), Metrics: batch.NewMetrics(s.registry),
	})
	if err != nil {
		t.Fatal(err)
	}
	s.server.handlers.pool = enginePool(t, s.registry, pool.Config{})
	s.do(post("/v1/checks", string(demo(t, "worksheet.musicxml"))))
	families, err := s.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	exposed := map[string]bool{}
	for _, family := range families {
		for _, suffix := range []string{"", "_sum", "_count", "_bucket"} {
			exposed[family.GetName()+suffix] = true
		}
	}
	named := regexp.MustCompile(`\b(partwright|process|go)_[a-z_]+`).FindAllString(string(guide), -1)
	if len(named) < 10 {
		t.Fatalf("only %d metrics named", len(named))
	}
	for _, name := range named {
		if !exposed[name] {
			t.Errorf("README.md names %s, which the service does not expose", name)
		}
	}
}
