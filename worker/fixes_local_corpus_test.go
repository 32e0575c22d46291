package worker

import (
	"flag"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

var fixesEvery = flag.Int("fixes-every", 400, "compare the fixes of every so many of the scores with a fault put in")

// The measures around a change say of it what the whole score says, on real scores, but
// for one finding in a hundred at most: the net hears eight beats to either side, and
// faintly the whole piece, and where two readings are as good as each other that
// decides.
func TestLocalFixesAreThoseOfTheWholeScore(t *testing.T) {
	folder := measuringData(t, "mutants")
	scores, _ := filepath.Glob(filepath.Join(folder, "*.mxl"))
	findings, differ := 0, 0
	for i := 0; i < len(scores); i += *fixesEvery {
		texture := voicesOf(t, scores[i])
		analysis := harmony.Analyze(texture)
		p := partwriting.NewPassage(texture, analysis, nil)
		local := p.Check()
		whole := slices.Clone(local)
		p.SuggestFixes(local, partwriting.FixOptions{})
		p.SuggestFixes(whole, partwriting.FixOptions{Whole: true})
		for j := range local {
			if local[j].Severity < partwriting.Caution {
				continue
			}
			findings++
			if got, want := fmt.Sprint(local[j].Fixes), fmt.Sprint(whole[j].Fixes); got != want {
				differ++
				t.Logf("%s: %s: %s by the measures around, %s by the whole", filepath.Base(scores[i]), findingPlace(&local[j]), got, want)
			}
		}
	}
	if differ*100 > findings {
		t.Errorf("%d of %d findings are judged otherwise by the measures around a change", differ, findings)
	}
	t.Logf("%d faults and cautions, %d judged otherwise", findings, differ)
}
