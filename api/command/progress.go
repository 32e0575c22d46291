package command

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a run is, on a terminal only.
type progress struct {
	to  io.Writer // nil for nowhere
	bar *progressbar.ProgressBar
}

func newProgress(w io.Writer, quiet bool) *progress {
	if f, ok := w.(*os.File); ok && !quiet && term.IsTerminal(int(f.Fd())) {
		return &progress{to: w}
	}
	return &progress{}
}

// stage begins to show what is done now, from nothing.
func (p *progress) stage(what string) {
	if p.to == nil {
		return
	}
	p.finish()
	p.bar = progressbar.NewOptions(-1,
		progressbar.OptionSetWriter(p.to),
		progressbar.OptionSetDescription(what),
		progressbar.OptionShowCount(),
		progressbar.OptionShowIts(),
		progressbar.OptionSetItsString("scores"),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(50*time.Millisecond), // a terminal far away is slower than a check
	)
}

// step counts one more of so many found so far.
func (p *progress) step(found int) {
	if p.bar == nil {
		return
	}
	p.bar.ChangeMax(found)
	_ = p.bar.Add(1)
}

// clear takes the bar off, so that something else can be printed.
func (p *progress) clear() {
	if p.bar != nil {
		_ = p.bar.Clear()
	}
}

func (p *progress) finish() {
	if p.bar != nil {
		_ = p.bar.Finish()
		p.bar = nil
	}
}
