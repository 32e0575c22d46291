package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/worker"
)

// mendFlags are the settings of partwright mend.
type mendFlags struct {
	out      string
	rules    string
	severity string
	keep     []string
	measures []string
	only     []string
	ways     int
	both     bool
	limits   musicxml.Limits
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
	flags.StringVar(&f.severity, "severity", "fault", "mend what is at least a fault, caution or remark")
	flags.StringSliceVar(&f.keep, "keep", nil, "voices that are given, such as S,B")
	flags.StringSliceVar(&f.measures, "keep-measures", nil, "measures that stay as they are, by printed number")
	flags.StringSliceVar(&f.only, "only", nil, "findings that are to go, by rule or by rule and measure, such as parallel-fifths@3 (default: all)")
	flags.IntVar(&f.ways, "alternatives", 1, fmt.Sprintf("how many ways to mend it, at most %d", worker.MaxMendings))
	flags.BoolVar(&f.both, "both", false, "write all versions on one sheet as well, NAME.both.musicxml (with --out)")
	addLimits(flags, &f.limits)
	return cmd
}

func mendAll(cmd *cobra.Command, f *mendFlags, paths []string) error {
	set, err := ruleSet(f.rules)
	if err != nil {
		return err
	}
	request := worker.MendRequest{RuleSet: set, Keep: f.keep, KeepMeasures: f.measures, Only: f.only, Alternatives: f.ways, Both: f.both}
	if request.Severity, err = severityNamed("severity", f.severity); err != nil {
		return err
	}
	var dir *worker.OutDir
	if f.out != "" {
		if dir, err = worker.OpenOutDir(f.out); err != nil {
			return err
		}
		defer func() { _ = dir.Close() }()
	}
	engine := &worker.Engine{Version: version(), Limits: f.limits}
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

func mendOne(cmd *cobra.Command, engine *worker.Engine, request worker.MendRequest, dir *worker.OutDir, path string) error {
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
	extension := filepath.Ext(path)
	name := dir.Claim(strings.TrimSuffix(filepath.Base(path), extension))
	if extension != ".mxl" {
		extension = ".musicxml"
	}
	report, err := json.MarshalIndent(result.Report, "", "  ")
	if err != nil {
		return err
	}
	if err := dir.Write(name+".mending.json", append(report, '\n')); err != nil {
		return err
	}
	if result.Both != nil {
		if err := dir.Write(name+".both.musicxml", result.Both); err != nil {
			return err
		}
	}
	for i, data := range result.Others {
		if err := dir.Write(fmt.Sprintf("%s.mended-%d%s", name, i+2, extension), data); err != nil {
			return err
		}
	}
	return dir.Write(name+".mended"+extension, result.Mended)
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

func printMending(w io.Writer, r *worker.MendingReport) {
	fmt.Fprintf(w, "%s: %d before, %d left; %d notes changed, %d semitones in all\n", r.File, r.Before, r.After, len(r.Edits), r.Semitones)
	printWay(w, r.Edits, r.Left)
	for i, way := range r.Alternatives {
		fmt.Fprintf(w, "or, way %d: %d left; %d notes changed, %d semitones in all\n", i+2, way.After, len(way.Edits), way.Semitones)
		printWay(w, way.Edits, way.Left)
	}
}

func printWay(w io.Writer, edits []worker.MendedNote, left []worker.LeftReport) {
	for _, e := range edits {
		fmt.Fprintf(w, "  measure %s, beat %g, %s: %s to %s\n", e.Measure, e.Beat, e.Note.Voice, e.Note.Pitch, e.To)
	}
	for _, l := range left {
		fmt.Fprintf(w, "  left at measure %s, beat %g: %s\n", l.Measure, l.Beat, l.Rule)
	}
}
