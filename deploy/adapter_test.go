package deploy_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// A worker is scaled by a metric that the adapter names and Prometheus records;
// that the record asks for what the service exposes is tested with the rules.
func TestWorkersScaleOnWhatIsRecorded(t *testing.T) {
	var adapter struct {
		ExternalRules []struct {
			SeriesQuery string            `yaml:"seriesQuery"`
			Name        map[string]string `yaml:"name"`
		} `yaml:"externalRules"`
	}
	if err := yaml.Unmarshal(read(t, "prometheus/adapter.yml"), &adapter); err != nil {
		t.Fatal(err)
	}
	if len(adapter.ExternalRules) != 1 {
		t.Fatalf("%d rules", len(adapter.ExternalRules))
	}
	metric := adapter.ExternalRules[0]
	if !slices.ContainsFunc(rules(t), func(r rule) bool { return r.Record == metric.SeriesQuery }) {
		t.Errorf("nothing records %s", metric.SeriesQuery)
	}
	if name := metric.Name["as"]; !strings.Contains(string(read(t, "kubernetes/worker.yaml")), `metric: {name: "`+name+`"}`) {
		t.Errorf("workers do not scale on %s", name)
	}
}
