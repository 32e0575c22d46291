package command

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"partwright/worker/files"
)

// console prints what a run says beside its answers, on standard error.
type console struct {
	w        io.Writer
	quiet    bool
	progress *progress
}

func newConsole(cmd *cobra.Command, quiet bool) *console {
	return &console{w: cmd.ErrOrStderr(), quiet: quiet, progress: newProgress(cmd.ErrOrStderr(), quiet)}
}

// warn prints a line about something that went wrong, whatever --quiet says.
func (c *console) warn(format string, args ...any) {
	c.progress.clear()
	fmt.Fprintf(c.w, "partwright: "+format+"\n", args...)
}

// inform prints a line that --quiet leaves out.
func (c *console) inform(format string, args ...any) {
	if !c.quiet {
		c.progress.clear()
		fmt.Fprintf(c.w, format+"\n", args...)
	}
}

// item prints what is odd about an item, and why it is skipped if it is.
func (c *console) item(item *files.Item) {
	if item.Note != "" {
		c.warn("%s: %s", item.Name, item.Note)
	}
	if item.Skipped != "" && !item.Expected && !c.quiet {
		c.warn("%s: skipped, %s", item.Name, item.Skipped)
	}
}
