package command

import (
	"errors"

	"github.com/spf13/cobra"

	"partwright/worker/report"
	"partwright/worker/request"
)

// checkCommand are the settings of partwright check.
type checkCommand struct {
	scoreFlags
	request request.Check
	fields  *requestFlags
	format  string
	bom     bool
	lean    bool
	clean   bool
	failOn  string
}

func newCheck() *cobra.Command {
	var f checkCommand
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
		Args: somePaths,
		RunE: func(cmd *cobra.Command, paths []string) error {
			if f.clean {
				return cleanAll(cmd, &f.scoreFlags, paths)
			}
			return f.run(cmd, paths)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, json, ndjson, csv (a row a finding) or scores (CSV, a row a score)")
	flags.BoolVar(&f.bom, "bom", false, "with --format csv or scores, begin with a byte order mark, by which some spreadsheets know UTF-8")
	flags.BoolVar(&f.lean, "lean", false, "with --format ndjson, leave out of findings why and source, which are those of the rule (partwright rules RULE)")
	flags.BoolVar(&f.clean, "clean", false, "with --out, take earlier marks off and write NAME.clean.musicxml (.mxl); check nothing")
	f.add(flags, "NAME.findings.json and NAME.marked.musicxml (.mxl)")
	f.addLabels(flags)
	f.addTables(flags)
	f.addEarlier(flags)
	addFailOn(flags, &f.failOn)
	f.fields = addRequest(flags, &f.request)
	return cmd
}

// somePaths wants at least one path.
func somePaths(_ *cobra.Command, paths []string) error {
	if len(paths) == 0 {
		return errors.New("name a score, a folder, an archive, or - for standard input")
	}
	return nil
}

// plan is what is done with each score.
func (f *checkCommand) plan() (*request.CheckPlan, error) {
	r := &f.request
	if err := f.fields.bind(nil); err != nil {
		return nil, err
	}
	switch {
	case f.out != "":
	case f.tables != "":
		return nil, errors.New("--tables writes files: name a folder for them with --out")
	case r.Voices:
		return nil, errors.New("--voices writes files: name a folder for them with --out")
	case r.Analysis && f.format != "json" && f.format != "ndjson":
		return nil, errors.New("--analysis writes files or JSON: name a folder with --out, or say --format json or ndjson")
	case r.Upgrade:
		return nil, errors.New("--upgrade changes marked scores: name a folder for them with --out")
	case len(r.Annotate) > 0:
		return nil, errors.New("--annotate writes into marked scores: name a folder for them with --out")
	}
	r.Marks = f.out != ""
	plan, err := r.Plan()
	if err != nil {
		return nil, f.fields.inFlags(err)
	}
	plan.Files = f.out != ""
	return plan, nil
}

func (f *checkCommand) run(cmd *cobra.Command, paths []string) error {
	plan, err := f.plan()
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if f.bom {
		if f.format != "csv" && f.format != "scores" {
			return errors.New("--bom begins tables for spreadsheets: say --format csv or scores with it")
		}
		out = report.WithBOM(out)
	}
	output, err := newOutput(out, f.format, f.quiet, plan.Catalog)
	if err != nil {
		return err
	}
	if f.lean {
		if f.format != "ndjson" {
			return errors.New("--lean shortens lines of JSON: say --format ndjson with it")
		}
		output = report.EncodeLeanNDJSON(out)
	}
	failOn, err := severityNamed("fail-on", f.failOn)
	if err != nil {
		return err
	}
	catalogue, err := f.readCatalogue()
	if err != nil {
		return err
	}
	s, err := openScores(cmd, &f.scoreFlags, paths)
	if err != nil {
		return err
	}
	defer s.close()
	if f.tables != "" {
		tables, err := openTables(s.out, cmd.Root().Version, f.tables, catalogue)
		if err != nil {
			return err
		}
		defer tables.Discard()
		output = both{output, tables}
	}
	t, err := s.answerAll(cmd.Context(), "checking", plan, output)
	if err != nil {
		return err
	}
	if plan.Analysis && s.out != nil {
		if err := t.writeStatistics(s.out); err != nil {
			return err
		}
	}
	s.warnUnused(catalogue)
	s.sayEarlier()
	t.print(s.console)
	return t.exit(failOn)
}
