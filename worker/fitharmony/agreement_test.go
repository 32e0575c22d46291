package main

import (
	"os"
	"path/filepath"
	"testing"

	"partwright/theory/harmony"
)

// TestAgreement compares with human analyses of the dataset "When in Rome". Two
// humans who analyzed the same chorales agree on 90 % of the eighth notes in key
// and numeral, 92 % in the numeral, 97 % in the key.
func TestAgreement(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every labeled score")
	}
	for _, set := range []struct {
		scores, labels           string
		full, numeral, key, root float64
	}{
		{"chorales-open", "analyses/chorales", 80, 84, 93, 93},
		{"textbooks", "textbooks", 75, 77, 80, 95},
	} {
		data := filepath.Join("..", "..", "..", "shared", "data")
		if _, err := os.Stat(filepath.Join(data, set.scores)); err != nil {
			t.Skipf("no measuring data: %v", err)
		}
		paths, err := filepath.Glob(filepath.Join(data, set.scores, "*.mxl"))
		if err != nil || len(paths) == 0 {
			t.Fatalf("%s holds no score: %v", set.scores, err)
		}
		total := hits{}
		for _, path := range paths {
			labels, _ := firstOf(filepath.Join(data, set.labels), stem(path))
			if labels == nil || countedDifferently[stem(path)] {
				continue
			}
			texture, err := readTexture(path)
			if err != nil {
				t.Fatal(err)
			}
			total.add(newGrid(&example{stem(path), texture, labels}).compare(harmony.Analyze(texture)))
		}
		t.Logf("%s: %v", set.scores, total)
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"full", total.percent(total.full), set.full}, {"numeral", total.percent(total.numeral), set.numeral},
			{"key", total.percent(total.key), set.key}, {"root", total.percent(total.root), set.root},
		} {
			if c.got < c.want {
				t.Errorf("%s: %s %.1f %%, want at least %.1f %%", set.scores, c.what, c.got, c.want)
			}
		}
	}
}
