package worker

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Fixes offered on scores with a fault put in: each removes its finding and
// brings no new fault when the changed score is read and checked anew. Every
// hundredth score is tried; PARTWRIGHT_ALL=1 tries all of them.
func TestFixesOnInjectedFaults(t *testing.T) {
	folder := measuringData(t, "mutants")
	scores, _ := filepath.Glob(filepath.Join(folder, "*.mxl"))
	if len(scores) == 0 {
		t.Fatal("no scores")
	}
	every := 100
	if os.Getenv("PARTWRIGHT_ALL") != "" {
		every = 1
	}
	findings, mended, offered := 0, 0, 0
	var spent time.Duration
	for i := 0; i < len(scores); i += every {
		texture := voicesOf(t, scores[i])
		analysis := harmony.Analyze(texture)
		found := partwriting.Check(texture, analysis, nil)
		start := time.Now()
		partwriting.NewPassage(texture, analysis, nil).SuggestFixes(found, partwriting.FixOptions{PerFinding: 1})
		spent += time.Since(start)
		before := severities(found)
		for j := range found {
			f := &found[j]
			if f.Severity < partwriting.Caution {
				continue
			}
			findings++
			if len(f.Fixes) > 0 {
				mended++
			}
			for _, fix := range f.Fixes {
				offered++
				changed := partwriting.Apply(texture, fix)
				after := severities(partwriting.Check(changed, harmony.Analyze(changed), nil))
				if _, still := after[findingPlace(f)]; still {
					t.Errorf("%s: %s is still there after %v", scores[i], findingPlace(f), fix)
				}
				for place, severity := range after {
					if severity == partwriting.Fault && before[place] != partwriting.Fault {
						t.Errorf("%s: %s is new after %v", scores[i], place, fix)
					}
				}
			}
		}
	}
	t.Logf("%d faults and cautions, %d with a fix, %d fixes tried again, %v a finding", findings, mended, offered, spent/time.Duration(max(findings, 1)))
}
