package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/files"
	"partwright/worker/report"
)

// mendFlags are the settings of partwright mend.
type mendFlags struct {
	out   string
	rules string
	mendChoice
	limits musicxml.Limits
}

// mendChoice says what is mended and what stays.
type mendChoice struct {
	severity string
	keep     []string
	measures []string
	only     []string
	ways     int
	both     bool
}

// add adds the flags of the choice, each with a prefix before its name.
func (c *mendChoice) add(flags *pflag.FlagSet, prefix string) {
	flags.StringVar(&c.severity, prefix+"severity", "fault", "mend what is at least a fault, caution or remark")
	flags.StringSliceVar(&c.keep, prefix+"keep", nil, "voices that are given, such as S,B")
	flags.StringSliceVar(&c.measures, prefix+"keep-measures", nil, "measures that stay as they are, by printed number")
	flags.StringSliceVar(&c.only, prefix+"only", nil, "findings that are to go, by rule or by rule and measure, such as parallel-fifths@3 (default: all)")
	flags.IntVar(&c.ways, prefix+"alternatives", 1, fmt.Sprintf("how many ways to mend it, at most %d", worker.MaxMendings))
	flags.BoolVar(&c.both, prefix+"both", false, "write all versions on one sheet as well, NAME.both.musicxml (with --out)")
}

// request is the choice as the engine takes it.
func (c *mendChoice) request() (r worker.MendRequest, err error) {
	r = worker.MendRequest{Keep: c.keep, KeepMeasures: c.measures, Only: c.only, Alternatives: c.ways, Both: c.both}
	r.Severity, err = severityNamed("severity", c.severity)
	return r, err
}

func newMend() *cobra.Command {
	var f mendFlags
	cmd := &cobra.Command{
		Use:   "mend [flags] SCORE…",
		Short: "Take the faults out of scores with the smallest changes",
		Long: `Mend changes as few notes as it can, and moves them as little as it can, so that
the faults of a score are gone and none is added. Rhythm, given voices and kept
measures stay. It prints what it changed and, with --out, writes
NAME.mended.musicxml (.mxl if the score was) and NAME.mending.json.

A mended exercise is a suggestion to discuss, not the solution.`,
		Example: `  partwright mend hand-in.musicxml
  partwright mend --keep S,B --out mended hand-in.musicxml
  partwright mend --only parallel-fifths@1 --alternatives 3 --both --out mended hand-in.musicxml`,
		Args: func(_ *cobra.Command, paths []string) error {
			if len(paths) == 0 {
				return errors.New("name at least one score")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, paths []string) error { return mendAll(cmd, &f, paths) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.out, "out", "", "folder to write the mended scores to")
	flags.StringVar(&f.rules, "rules", partwriting.DefaultRuleSet, "rule set")
	f.add(flags, "")
	addLimits(flags, &f.limits)
	return cmd
}

func mendAll(cmd *cobra.Command, f *mendFlags, paths []string) error {
	set, err := ruleSet(f.rules)
	if err != nil {
		return err
	}
	request, err := f.request()
	if err != nil {
		return err
	}
	request.RuleSet = set
	var dir *files.OutDir
	if f.out != "" {
		if dir, err = files.OpenOutDir(f.out); err != nil {
			return err
		}
		defer func() { _ = dir.Close() }()
	}
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: f.limits}
	unread := 0
	for _, path := range paths {
		var input *musicxml.InputError
		switch err := mendOne(cmd, engine, request, dir, path); {
		case errors.As(err, &input), errors.Is(err, os.ErrNotExist):
			fmt.Fprintf(cmd.ErrOrStderr(), "partwright: %v\n", err)
			unread++
		case err != nil:
			return err
		}
	}
	if unread > 0 {
		return &status{code: exitUnreadable}
	}
	return nil
}

func mendOne(cmd *cobra.Command, engine *worker.Engine, request worker.MendRequest, dir *files.OutDir, path string) error {
	data, err := readBounded(path)
	if err != nil {
		return err
	}
	result, err := engine.Mend(cmd.Context(), worker.Input{Name: path, Data: data}, request)
	if err != nil {
		return err
	}
	printMending(cmd.OutOrStdout(), result.Report)
	if dir == nil {
		return nil
	}
	report, err := json.Marshal(result.Report)
	if err != nil {
		return err
	}
	files, err := files.OfMending(report, result.Mended, result.Others, result.Both)
	if err != nil {
		return err
	}
	return dir.WriteFiles(strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)), files)
}

// readBounded reads a file of at most the largest size a score may have packed.
func readBounded(path string) ([]byte, error) {
	file, err := os.Open(filepath.Clean(path))
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }()
	data, err := io.ReadAll(io.LimitReader(file, maxScoreFile+1))
	if err == nil && len(data) > maxScoreFile {
		err = fmt.Errorf("%s is larger than %d bytes", path, maxScoreFile)
	}
	return data, err
}

// maxScoreFile is the largest file that is read as one score.
const maxScoreFile = 64 << 20

func printMending(w io.Writer, r *report.Mending) {
	fmt.Fprintf(w, "%s: %d before, %d left; %s changed, %s in all\n",
		r.File, r.Before, r.After, count(len(r.Edits), "note"), count(r.Semitones, "semitone"))
	printWay(w, r.Edits, r.Left)
	for i, way := range r.Alternatives {
		fmt.Fprintf(w, "or, way %d: %d left; %s changed, %s in all\n",
			i+2, way.After, count(len(way.Edits), "note"), count(way.Semitones, "semitone"))
		printWay(w, way.Edits, way.Left)
	}
}

func printWay(w io.Writer, edits []report.MendedNote, left []report.Left) {
	for _, e := range edits {
		fmt.Fprintf(w, "  measure %s, beat %g, %s: %s to %s\n", e.Measure, e.Beat, e.Note.Voice, e.Note.Pitch, e.To)
	}
	for _, l := range left {
		fmt.Fprintf(w, "  left at measure %s, beat %g: %s\n", l.Measure, l.Beat, l.Rule)
	}
}
