package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/classroom"
)

// classEnter makes a command that enters one thing into the log, about references or about
// all.
func classEnter(use, short string, do classroom.Action, needed bool, flags func(*cobra.Command, *classroom.Entry) func() error) *cobra.Command {
	var e classroom.Entry
	args := cobra.MinimumNArgs(1)
	if needed {
		args = cobra.MinimumNArgs(2)
	}
	cmd := &cobra.Command{Use: use, Short: short, Args: args}
	addBy(cmd, &e.By)
	finish := func() error { return nil }
	if flags != nil {
		finish = flags(cmd, &e)
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if err := finish(); err != nil {
			return err
		}
		f, err := classroom.OpenFolder(args[0])
		if err != nil {
			return Failed(err)
		}
		defer func() { _ = f.Close() }()
		e.At, e.Do = time.Now().UTC(), do
		references := args[1:]
		if len(references) == 0 {
			references = []string{""}
		}
		var entries []classroom.Entry
		for _, r := range references {
			e.Reference = r
			entries = append(entries, e)
		}
		if err := f.Enter(entries...); err != nil {
			return err
		}
		_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: entered; partwright class mark %s writes it out\n", do, args[0])
		return err
	}
	return cmd
}

func newClassRelease() *cobra.Command {
	return classEnter("release FOLDER [REFERENCE…]", "Let pupils see their marks: all, or those that are named", classroom.Release, false, nil)
}

func newClassTakeBack() *cobra.Command {
	return classEnter("take-back FOLDER [REFERENCE…]", "Take a release back", classroom.TakeBack, false, nil)
}

func newClassExtend() *cobra.Command {
	return classEnter("extend FOLDER [REFERENCE…]", "Give more time: to all, or to those that are named", classroom.Extend, false,
		func(cmd *cobra.Command, e *classroom.Entry) func() error {
			var until string
			cmd.Flags().StringVar(&until, "until", "", "until when, such as 2026-11-30T16:00:00Z")
			return func() (err error) {
				e.Until, err = timeIn("until", until)
				return err
			}
		})
}

func newClassForget() *cobra.Command {
	var by string
	cmd := &cobra.Command{
		Use:   "forget FOLDER REFERENCE",
		Short: "Delete the work of a pupil and all that came of it",
		Long: `Forget deletes what was handed in under a reference, the answers to it, and what
sums up the class, which partwright class mark makes again. The log keeps its
entries under another reference, which leads nowhere.`,
		Args: cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			if by == "" {
				return errors.New("say with --by who does it")
			}
			f, err := classroom.OpenFolder(args[0])
			if err != nil {
				return Failed(err)
			}
			defer func() { _ = f.Close() }()
			return f.Forget(args[1], by, time.Now().UTC())
		},
	}
	addBy(cmd, &by)
	return cmd
}

func newClassCopy() *cobra.Command {
	return &cobra.Command{
		Use:   "copy FOLDER NEW",
		Short: "Set the same assignment to another class: without times, work or decisions",
		Args:  cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := classroom.OpenFolder(args[0])
			if err != nil {
				return Failed(err)
			}
			defer func() { _ = f.Close() }()
			if err := classroom.CreateFolder(args[1], f.NextYear(classroom.NewID())); err != nil {
				return Failed(err)
			}
			return nil
		},
	}
}

// classAgain are the settings of partwright class again.
type classAgain struct {
	classNew
	by    string
	apply bool
}

func newClassAgain() *cobra.Command {
	var c classAgain
	cmd := &cobra.Command{
		Use:   "again FOLDER",
		Short: "Show what other rules or another rubric would change, and apply them",
		Long: `Again marks all work by other rules or another rubric and prints, as JSON, the marks
and findings that would be others. Marks that the teacher has set stay. With --apply
the assignment is changed, and the log says who did it.`,
		Args: oneOf("folder of an assignment"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd, args[0]) },
	}
	flags := cmd.Flags()
	flags.StringVar(&c.rules, "rules", "", "rule set by name, or a file with one of your own (default: as it is)")
	flags.StringVar(&c.rubric, "rubric", "", "rubric by name, or a file with one of your own (default: as it is)")
	flags.BoolVar(&c.apply, "apply", false, "change the assignment")
	addBy(cmd, &c.by)
	c.classFolder.add(cmd)
	return cmd
}

func (c *classAgain) run(cmd *cobra.Command, folder string) error {
	if c.rules == "" && c.rubric == "" {
		return errors.New("say what is to be other: --rules or --rubric")
	}
	m, err := c.open(cmd, folder)
	if err != nil {
		return err
	}
	defer func() { _ = m.Close() }()
	before, old := m.Assignment, m.work.HandIns
	if err := c.judge(); err != nil {
		return err
	}
	by := classroom.Judging{Rules: c.rules, Rubric: c.rubric, OwnRules: c.assignment.OwnRules, OwnRubric: c.assignment.OwnRubric}
	if m.Assignment, err = before.JudgedBy(&by); err != nil {
		return err
	}
	if err := c.classFolder.mark(cmd, m); err != nil {
		return Failed(err)
	}
	encoder := json.NewEncoder(cmd.OutOrStdout())
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(classroom.WouldChange(before, m.Assignment, old, m.work.HandIns, m.Log)); err != nil || !c.apply {
		return err
	}
	if err := m.Enter(classroom.Entry{At: time.Now().UTC(), By: c.by, Do: classroom.MarkAgain, Text: by.String()}); err != nil {
		return err
	}
	return m.Rewrite()
}

func newClassTerm() *cobra.Command {
	var c classFolder
	cmd := &cobra.Command{
		Use:   "term FOLDER…",
		Short: "Show over several assignments which rules a class has learned",
		Args:  cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, folders []string) error {
			var reports []*classroom.Report
			for _, name := range folders {
				m, err := c.open(cmd, name)
				if err != nil {
					return err
				}
				reports = append(reports, m.report)
				if err := m.Close(); err != nil {
					return Failed(err)
				}
			}
			encoder := json.NewEncoder(cmd.OutOrStdout())
			encoder.SetIndent("", "  ")
			return encoder.Encode(classroom.Over(reports))
		},
	}
	c.add(cmd)
	return cmd
}
