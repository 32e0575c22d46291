package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/worker"
)

// checkFlags are the settings of partwright check.
type checkFlags struct {
	format   string
	out      string
	voices   bool
	clean    bool
	failOn   string
	rules    string
	language string
	workers  int
	timeout  time.Duration
	quiet    bool
	limits   musicxml.Limits
}

func newCheck() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use:   "check [flags] PATH…",
		Short: "Check scores, folders of scores and archives",
		Long: `Check reads every score among the paths and says what it found in each.

A PATH is a score (.musicxml, .xml, .mxl), a folder, which is searched with all
folders below it, an archive (.zip, .tar.gz), or - for one score from standard
input.

Exit status: 0 all scores were read; 1 some could not be read; 2 wrong use;
3 all were read and --fail-on found something. Findings alone are no error.`,
		Example: `  partwright check exercise.musicxml
  partwright check --out marked --voices class/
  partwright check --format ndjson --fail-on fault hand-ins.zip`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, paths []string) error {
			c, err := newChecking(cmd, &f)
			if err != nil {
				return err
			}
			return c.run(cmd.Context(), paths)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, json, ndjson or csv")
	flags.StringVar(&f.out, "out", "", "folder to write NAME.findings.json and NAME.marked.musicxml (.mxl) to for each score")
	flags.BoolVar(&f.voices, "voices", false, "with --out, also write NAME.voices.csv")
	flags.BoolVar(&f.clean, "clean", false, "with --out, take earlier marks off and write NAME.clean.musicxml (.mxl); check nothing")
	flags.StringVar(&f.failOn, "fail-on", "", "end with status 3 when there is a finding as grave as fault, caution or remark")
	flags.StringVar(&f.rules, "rules", "", "rule set by `name`, see partwright rules")
	flags.StringVar(&f.language, "lang", "en", "language of the sentences")
	flags.IntVar(&f.workers, "workers", 0, "scores worked on at once (default: the number of processors)")
	flags.DurationVar(&f.timeout, "timeout", time.Minute, "longest time for one score; 0 for no bound")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no table, no progress and no summary; unreadable scores are still named")
	addLimits(flags, &f.limits)
	return cmd
}

// addLimits adds the flags that bound what one score may cost.
func addLimits(flags *pflag.FlagSet, l *musicxml.Limits) {
	flags.Int64Var(&l.MaxBytes, "max-bytes", 64<<20, "largest score, unpacked, in bytes")
	flags.IntVar(&l.MaxDepth, "max-depth", 64, "how deep the elements of a score may nest")
	flags.IntVar(&l.MaxElements, "max-elements", 4_000_000, "most elements in a score")
	flags.IntVar(&l.MaxAttributes, "max-attributes", 64, "most attributes on one element")
	flags.IntVar(&l.MaxEntries, "max-entries", 1000, "most entries in a .mxl container")
	flags.IntVar(&l.MaxRatio, "max-ratio", 200, "how many times larger than packed a container may be")
}

// checking is one run of partwright check.
type checking struct {
	flags   *checkFlags
	engine  *worker.Engine
	options worker.Options
	failOn  partwriting.Severity
	cmd     *cobra.Command
	output  output
	dir     *worker.OutDir

	scores, unreadable, skipped int
	summary                     worker.Summary
}

func newChecking(cmd *cobra.Command, f *checkFlags) (*checking, error) {
	c := &checking{
		flags: f, cmd: cmd,
		engine:  &worker.Engine{Version: version(), Limits: f.limits},
		options: worker.Options{Language: f.language, Marks: f.out != "" && !f.clean},
	}
	if f.out == "" && (f.voices || f.clean) {
		return nil, errors.New("--voices and --clean write files: name a folder for them with --out")
	}
	if _, ok := partwriting.CatalogFor(f.language); !ok {
		return nil, fmt.Errorf("--lang %s: %w", f.language, worker.ErrLanguage)
	}
	var err error
	if c.failOn, err = severityNamed(f.failOn); err != nil {
		return nil, err
	}
	if c.output, err = newOutput(cmd.OutOrStdout(), f); err != nil {
		return nil, err
	}
	return c, nil
}

func severityNamed(word string) (partwriting.Severity, error) {
	for _, s := range []partwriting.Severity{partwriting.Fault, partwriting.Caution, partwriting.Remark} {
		if s.String() == word {
			return s, nil
		}
	}
	if word == "" {
		return partwriting.Off, nil
	}
	return partwriting.Off, fmt.Errorf("--fail-on %s: say fault, caution or remark", word)
}

func (c *checking) run(ctx context.Context, paths []string) error {
	in := &worker.Inputs{Paths: paths, Stdin: c.cmd.InOrStdin(), Limits: c.flags.limits}
	if err := c.openDir(in); err != nil {
		return err
	}
	if c.dir != nil {
		defer c.dir.Close()
	}
	run := &worker.Run{Job: c.job, Workers: c.flags.workers, Timeout: c.flags.timeout}
	bar := newProgress(c.cmd.ErrOrStderr(), c.flags.quiet)
	for outcome := range run.Over(ctx, in.All()) {
		bar.step(in.Found())
		if err := c.take(outcome, bar); err != nil {
			return &status{exitUnreadable, err}
		}
	}
	bar.finish()
	if err := c.output.Close(); err != nil {
		return &status{exitUnreadable, err}
	}
	if ctx.Err() != nil {
		return &status{exitUnreadable, errors.New("stopped before the end")}
	}
	return c.conclude()
}

func (c *checking) openDir(in *worker.Inputs) (err error) {
	if c.flags.out == "" {
		return nil
	}
	if c.dir, err = worker.OpenOutDir(c.flags.out); err != nil {
		return &status{exitUnreadable, fmt.Errorf("the folder for answers could not be opened: %w", err)}
	}
	in.Except, err = c.dir.Info()
	return err
}

func (c *checking) job(ctx context.Context, in worker.Input) (*worker.Result, error) {
	return c.engine.Check(ctx, in, c.options)
}

// take prints and files one outcome.
func (c *checking) take(o worker.Outcome, bar *progress) error {
	switch {
	case o.Item.Skipped != "":
		c.skipped++
		bar.say("%s: skipped, %s", o.Item.Name, o.Item.Skipped)
		return nil
	case o.Err != nil:
		c.scores++
		c.unreadable++
		failure := worker.NewFailure(o.Item.Name, o.Err)
		bar.say("%s", failure.Error())
		return c.output.Failure(failure)
	}
	c.scores++
	c.summary.Add(&o.Result.Report.Summary)
	if c.dir != nil {
		if err := c.file(o); err != nil {
			return fmt.Errorf("the answer to %s could not be written: %w", o.Item.Name, err)
		}
	}
	return c.output.Report(o.Result.Report)
}

// file writes the files of one score into the folder for answers.
func (c *checking) file(o worker.Outcome) error {
	name := c.dir.Claim(o.Item.Place)
	findings, err := worker.FindingsJSON(o.Result.Report)
	if err != nil {
		return err
	}
	if err := c.dir.Write(name+".findings.json", findings); err != nil {
		return err
	}
	return c.dir.Write(name+".marked.musicxml", o.Result.Marked)
}

// conclude says what the whole run came to.
func (c *checking) conclude() error {
	if c.scores == 0 {
		return errors.New("no score was found: name .musicxml, .xml or .mxl files, or folders or archives that hold some")
	}
	if !c.flags.quiet {
		fmt.Fprintln(c.cmd.ErrOrStderr(), c.closing())
	}
	switch {
	case c.unreadable > 0:
		return &status{code: exitUnreadable}
	case c.failOn != partwriting.Off && c.summary.AtLeast(c.failOn) > 0:
		return &status{code: exitFound}
	}
	return nil
}

func (c *checking) closing() string {
	return fmt.Sprintf("%s read, %d unreadable, %d skipped: %s, %s, %s",
		count(c.scores-c.unreadable, "score"), c.unreadable, c.skipped,
		count(c.summary.Faults, "fault"), count(c.summary.Cautions, "caution"), count(c.summary.Remarks, "remark"))
}

// count puts a number before a word: "1 score", "2 scores".
func count(n int, word string) string {
	if n != 1 {
		word += "s"
	}
	return fmt.Sprintf("%d %s", n, word)
}
