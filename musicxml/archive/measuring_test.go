package archive

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestMeasuringData takes the class archives of the measuring data apart, where
// they are there. The counts are those of the table beside them: scores, which
// include one that the reader has to refuse, and members refused here.
func TestMeasuringData(t *testing.T) {
	const folder = "../../../shared/data/hostile"
	tests := []struct {
		name           string
		scores, errors int
	}{
		{"class-bad-third.zip", 5, 0}, {"class-mac.zip", 2, 0}, {"class-folders.zip", 3, 0}, {"class-names.zip", 4, 0},
		{"class-none.zip", 0, 1}, {"class-climb.zip", 2, 0}, {"nested-4.zip", 0, 10},
	}
	for _, tt := range tests {
		data, err := os.ReadFile(filepath.Join(folder, tt.name))
		if err != nil {
			t.Skip("no measuring data beside the project")
		}
		scores, errs := 0, 0
		for m, err := range Scores(bytes.NewReader(data), int64(len(data)), Limits{}) {
			t.Logf("%s: %q %s %v %s", tt.name, m.Path, m.Skipped, err, m.Note)
			if err == nil && m.Skipped == "" {
				scores++
			}
			if err != nil {
				errs++
			}
			if strings.ContainsAny(m.Path, "\n\r") || len(m.Path) > 255 || strings.HasPrefix(m.Path, "..") {
				t.Errorf("%s: unsafe path %q", tt.name, m.Path)
			}
		}
		if scores != tt.scores || errs != tt.errors {
			t.Errorf("%s: %d scores and %d errors, want %d and %d", tt.name, scores, errs, tt.scores, tt.errors)
		}
	}
}
