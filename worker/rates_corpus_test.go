package worker

import (
	"os"
	"path/filepath"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// How often each rule speaks on scores that teachers hold up as models. The
// table is shown with -v, over every twelfth score or, with PARTWRIGHT_ALL=1, over
// all of them; the test holds the lines to what is known of the
// chorales: no melodic augmented second inside a phrase (own count over the
// edition by Craig Stuart Sapp, 2009).
func TestRatesOnTheChorales(t *testing.T) {
	folder := measuringData(t, "chorales-open")
	scores, _ := filepath.Glob(filepath.Join(folder, "*.mxl"))
	if len(scores) == 0 {
		t.Fatal("no scores")
	}
	type count struct{ faults, cautions, remarks, scores int }
	counts := map[partwriting.RuleID]*count{}
	moments, harmonies := 0, 0
	every := 12
	if os.Getenv("PARTWRIGHT_ALL") != "" {
		every = 1
	}
	read := 0
	for i := 0; i < len(scores); i += every {
		path := scores[i]
		read++
		texture := voicesOf(t, path)
		moments += len(texture.Moments)
		seen := map[partwriting.RuleID]bool{}
		analysis := harmony.Analyze(texture)
		harmonies += len(analysis.Harmonies)
		for _, f := range partwriting.Check(texture, analysis, nil) {
			c := counts[f.Rule]
			if c == nil {
				c = &count{}
				counts[f.Rule] = c
			}
			switch f.Severity {
			case partwriting.Fault:
				c.faults++
			case partwriting.Caution:
				c.cautions++
			default:
				c.remarks++
			}
			if !seen[f.Rule] {
				seen[f.Rule] = true
				c.scores++
			}
		}
	}
	t.Logf("%d scores, %d sonorities, %d harmonies", read, moments, harmonies)
	t.Logf("%-28s %7s %8s %8s %7s", "rule", "fault", "caution", "remark", "scores")
	for _, r := range partwriting.Rules() {
		if c := counts[r.ID]; c != nil {
			t.Logf("%-28s %7d %8d %8d %7d", r.ID, c.faults, c.cautions, c.remarks, c.scores)
		}
	}
	if c := counts["augmented-second"]; c != nil {
		t.Errorf("%d augmented seconds, want none", c.faults)
	}
}
