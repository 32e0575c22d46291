package command

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"partwright/worker"
	"partwright/worker/files"
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
	output, err := newOutput(cmd.OutOrStdout(), f)
	if err != nil {
		return err
	}
	failOn, err := severityNamed("fail-on", f.failOn)
	if err != nil {
		return err
	}
	s, err := openScores(cmd, f, paths)
	if err != nil {
		return err
	}
	defer s.close()
	var t totals
	check := func(ctx context.Context, in worker.Input) (*worker.Result, error) {
		return s.pool.Submit(ctx, in, options)
	}
	take := func(item files.Item, r *worker.Result) error {
		t.summary.Add(&r.Report.Summary)
		if err := writeResult(s.out, item.Place, r, f); err != nil {
			return err
		}
		if f.analysis {
			t.statistics.Add(r.Harmony)
		}
		return output.Report(r.Report)
	}
	if t.counts, err = forEach(cmd.Context(), s, check, take, output.Failure); err != nil {
		return err
	}
	if err := output.Close(); err != nil {
		return Failed(err)
	}
	if f.analysis && s.out != nil {
		if err := t.writeStatistics(s.out); err != nil {
			return err
		}
	}
	t.print(s.console)
	return t.exit(failOn)
}

// writeResult writes the files of one score into the folder for answers, if there is one.
func writeResult(out *files.OutDir, place string, r *worker.Result, f *checkFlags) error {
	if out == nil {
		return nil
	}
	made, err := files.OfCheck(r, f.voices, f.analysis)
	if err != nil {
		return err
	}
	return out.WriteFiles(place, made)
}
