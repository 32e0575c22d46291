package command

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"partwright/worker"
)

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
		Args: func(_ *cobra.Command, paths []string) error {
			if len(paths) == 0 {
				return errors.New("name a score, a folder, an archive, or - for standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, paths []string) error {
			if f.clean {
				return cleanAll(cmd, &f, paths)
			}
			return checkAll(cmd, &f, paths)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, json, ndjson or csv")
	flags.BoolVar(&f.clean, "clean", false, "with --out, take earlier marks off and write NAME.clean.musicxml (.mxl); check nothing")
	f.add(flags)
	return cmd
}

// checking is one run of partwright check.
type checking struct {
	*answers
	output output
}

func checkAll(cmd *cobra.Command, f *checkFlags, paths []string) error {
	if f.voices && f.out == "" {
		return errors.New("--voices writes files: name a folder for them with --out")
	}
	if f.analysis && f.out == "" && f.format != "json" && f.format != "ndjson" {
		return errors.New("--analysis writes files or JSON: name a folder with --out, or say --format json or ndjson")
	}
	if f.upgrade && f.out == "" {
		return errors.New("--upgrade changes marked scores: name a folder for them with --out")
	}
	options, err := f.options()
	if err != nil {
		return err
	}
	c := &checking{}
	if c.output, err = newOutput(cmd.OutOrStdout(), f); err != nil {
		return err
	}
	if c.answers, err = newAnswers(cmd, f, paths); err != nil {
		return err
	}
	defer c.close()
	check := func(ctx context.Context, in worker.Input) (*worker.Result, error) {
		return c.pool.Submit(ctx, in, options)
	}
	if err := sweepOver(c.sweep, check, c.take, c.output.Failure); err != nil {
		return err
	}
	if err := c.output.Close(); err != nil {
		return &status{exitUnreadable, err}
	}
	if err := c.fileStatistics(); err != nil {
		return err
	}
	return c.conclude()
}

// take files and prints the result of one score.
func (c *checking) take(item worker.Item, r *worker.Result) error {
	c.summary.Add(&r.Report.Summary)
	if c.dir != nil {
		if err := c.fileResult(item.Place, r); err != nil {
			return err
		}
	}
	return c.output.Report(r.Report)
}

// fileResult writes the files of one score into the folder for answers.
func (c *checking) fileResult(place string, r *worker.Result) error {
	files := []worker.File{worker.MarkedFile(r.Marked)}
	forms := []form{{worker.FindingsEnding, func() ([]byte, error) { return worker.FindingsJSON(r.Report) }}}
	if c.flags.voices {
		forms = append(forms, form{worker.VoicesEnding, func() ([]byte, error) { return worker.VoicesCSV(r.Texture) }})
	}
	if c.flags.analysis {
		c.statistics.Add(r.Harmony)
		forms = append(forms,
			form{worker.RomanTextEnding, func() ([]byte, error) { return worker.RomanText(r.Report.Score.Title, r.Harmony) }},
			form{worker.AnalysisEnding, func() ([]byte, error) { return worker.AnalysisJSON(r.Texture, r.Harmony) }},
			form{worker.HarmoniesEnding, func() ([]byte, error) { return worker.HarmoniesCSV(r.Report.File, r.Texture, r.Harmony) }})
	}
	made, err := filesOf(forms)
	if err != nil {
		return err
	}
	return c.dir.WriteFiles(place, append(files, made...))
}
