package command

import (
	"strings"
	"testing"
)

// Taking an archive in and writing its answers take as long as checking it: whoever
// watches sees each.
func TestProgressShowsEveryStage(t *testing.T) {
	var screen strings.Builder
	p := &progress{to: &screen}
	for _, stage := range []string{"taking in", "checking", "writing"} {
		before := screen.Len()
		p.stage(stage)
		for range 3 {
			p.step(3)
		}
		p.finish()
		if shown := screen.String()[before:]; !strings.Contains(shown, stage) || !strings.Contains(shown, "/3") {
			t.Errorf("%s: %q", stage, shown)
		}
	}
	screen.Reset()
	nowhere := newProgress(&screen, false)
	nowhere.stage("checking")
	nowhere.step(1)
	if screen.Len() > 0 {
		t.Errorf("where there is no terminal: %q", screen.String())
	}
}
