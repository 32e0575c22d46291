package command

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/files"
	"partwright/worker/pool"
)

func newClass() *cobra.Command {
	cmd := &cobra.Command{
		Use:  "class COMMAND",
		Args: onlyCommands,
		RunE: func(*cobra.Command, []string) error {
			return errors.New(`name a command, such as: partwright class new --out quiz --title Quiz "C: I vi ii6 V7*2 I"`)
		},
		Short: "Set an exercise to a class, mark what comes back, and see how the class did",
		Long: `Class keeps one assignment in a folder: the exercise and its model answers, what
was handed in, what the teacher has decided, and the marks.

Work lies in hand-ins/ as REFERENCE.musicxml (.mxl, .xml), a further attempt as
REFERENCE@2.musicxml. A reference is anything that tells pupils apart; it need not
be a name. roster.csv says who belongs to the class (a column sourcedId or
reference), received.csv when work came (reference, attempt, received).

Nothing is final until the teacher releases it. Every mark is a proposal, every
decision is written to log.ndjson with who made it, and a pupil should be able to
ask a person.`,
	}
	cmd.AddCommand(newClassNew(), newClassMark(), newClassDecide(), newClassExtend(), newClassRelease(), newClassTakeBack(), newClassAgain(), newClassTerm(), newClassCopy(), newClassForget())
	return cmd
}

// classFolder are the settings of every command that marks what lies in a folder.
type classFolder struct {
	workers int
	timeout time.Duration
	limits  musicxml.Limits
	// archives bound what archives of hand-ins hold.
	archives archive.Limits
}

func (c *classFolder) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	defaults := pool.DefaultConfig()
	flags.IntVar(&c.workers, "workers", defaults.Size, "scores worked on at once")
	flags.DurationVar(&c.timeout, "timeout", defaults.Deadline, "longest time for one score")
	addLimits(flags, &c.limits)
	addArchiveLimits(flags, &c.archives)
}

// pool are the workers that mark.
func (c *classFolder) pool(cmd *cobra.Command) (*pool.Pool, error) {
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: c.limits}
	return pool.New(pool.Config{Size: c.workers, Deadline: c.timeout}, engine, nil, nil)
}

func (c *classFolder) inputs() *files.Inputs {
	archives := c.archives
	archives.Bytes, archives.Ratio = c.limits.MaxBytes, c.limits.MaxRatio
	return &files.Inputs{Limits: c.limits, Archives: archives}
}

// marked is a folder with all its work marked.
type marked struct {
	*classroom.Folder
	marker *classroom.Marker
	work   *classroom.Gathered
	report *classroom.Report
}

// open opens a folder and marks all that was handed in.
func (c *classFolder) open(cmd *cobra.Command, name string) (*marked, error) {
	f, err := classroom.OpenFolder(name)
	if err != nil {
		return nil, Failed(err)
	}
	m := &marked{Folder: f}
	if err := c.mark(cmd, m); err != nil {
		_ = f.Close()
		return nil, Failed(err)
	}
	return m, nil
}

func (c *classFolder) mark(cmd *cobra.Command, m *marked) error {
	workers, err := c.pool(cmd)
	if err != nil {
		return err
	}
	ctx := cmd.Context()
	if m.marker, err = classroom.NewMarker(ctx, m.Assignment, workers); err != nil {
		return err
	}
	if m.work, err = m.Gather(ctx, m.marker, c.inputs(), c.workers); err != nil {
		if errors.Is(err, context.Canceled) {
			return errors.New("stopped before the end")
		}
		return err
	}
	for _, skipped := range m.work.Skipped {
		fmt.Fprintln(cmd.ErrOrStderr(), skipped)
	}
	m.report = m.marker.Report(m.work.HandIns, m.Log, m.Roster)
	return nil
}

// find is a hand-in of a reference, the last one where no attempt is named.
func (m *marked) find(reference string, attempt int) (*classroom.HandIn, error) {
	var found *classroom.HandIn
	for i := range m.work.HandIns {
		if h := &m.work.HandIns[i]; h.Reference == reference && (attempt == 0 || h.Attempt == attempt) {
			found = h
		}
	}
	if found == nil && attempt > 0 {
		return nil, fmt.Errorf("there is no attempt %d of the reference %q", attempt, reference)
	}
	if found == nil {
		return nil, fmt.Errorf("nothing was handed in under the reference %q", reference)
	}
	return found, nil
}

// addBy adds the flag that says who decides.
func addBy(cmd *cobra.Command, by *string) {
	cmd.Flags().StringVar(by, "by", "", "who does it, as it is to stand in the log, such as initials (needed)")
}
