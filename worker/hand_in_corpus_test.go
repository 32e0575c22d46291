package worker

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"partwright/worker/report"
	"partwright/worker/request"
)

// TestPublishedScoresAreComplete: no published chorale, song, prelude or bulk score is called
// unfinished or misread. Of the textbook examples those are whose whole point it is to be one
// melody or to have nothing in them.
func TestPublishedScoresAreComplete(t *testing.T) {
	for _, of := range []struct {
		folder string
		// incomplete are the most that may be called so.
		incomplete int
	}{{"chorales-open", 0}, {"chorales-closed", 0}, {"bulk", 0}, {"repertoire", 0}, {"textbooks", 2}} {
		files, _ := filepath.Glob(filepath.Join(measuringData(t, of.folder), "*"))
		files = slices.DeleteFunc(files, func(file string) bool {
			return !slices.Contains([]string{".mxl", ".musicxml", ".xml"}, filepath.Ext(file))
		})
		if len(files) == 0 {
			t.Errorf("%s: no scores", of.folder)
		}
		incomplete := 0
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			a, err := do(Input{Name: filepath.Base(file), Data: data}, &request.Check{})
			if err != nil {
				t.Logf("%s: %v", filepath.Base(file), err)
				continue
			}
			if r, ok := a.Report.(*report.Report); ok && !r.HandIn.Complete {
				incomplete++
				t.Logf("%s: %+v", filepath.Base(file), r.HandIn.Problems)
			}
		}
		if incomplete > of.incomplete {
			t.Errorf("%s: %d of %d scores are called incomplete, want at most %d", of.folder, incomplete, len(files), of.incomplete)
		}
		t.Logf("%s: %d of %d", of.folder, incomplete, len(files))
	}
}
