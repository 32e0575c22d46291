package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker"
)

// checkFlags are the settings of partwright check.
type checkFlags struct {
	format   string
	out      string
	voices   bool
	analysis bool
	labels   string
	given    string
	annotate string
	clean    bool
	upgrade  bool
	failOn   string
	rules    string
	fixes    int
	rubric   string
	accepted string
	language string
	workers  int
	timeout  time.Duration
	quiet    bool
	limits   musicxml.Limits
	archives archive.Limits
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
	flags.StringVar(&f.out, "out", "", "folder to write NAME.findings.json and NAME.marked.musicxml (.mxl) to for each score")
	flags.BoolVar(&f.voices, "voices", false, "with --out, also write NAME.voices.csv")
	flags.BoolVar(&f.analysis, "analysis", false, "add the harmonic analysis to the findings; with --out, also write NAME.rntxt (RomanText), NAME.analysis.json and NAME.harmonies.csv, and for all scores statistics.csv and statistics.json")
	flags.StringVar(&f.labels, "labels", "", "an analysis in RomanText for one score, as a `file`, or \"beside\" for NAME.rntxt or NAME.txt beside each score; in place of the labels in the score")
	flags.StringVar(&f.given, "given", harmony.Steer.String(), "what labels in or beside a score do to the analysis: steer, replace, ignore")
	flags.StringVar(&f.annotate, "annotate", "", "with --out, write the analysis into the marked score: "+strings.Join(musicxml.LayerNames(), ", ")+", with commas between several")
	flags.BoolVar(&f.upgrade, "upgrade", false, "with --out, make older documents declare MusicXML 4.0 in the marked score, so that 1.0 gets colors too")
	flags.BoolVar(&f.clean, "clean", false, "with --out, take earlier marks off and write NAME.clean.musicxml (.mxl); check nothing")
	flags.StringVar(&f.failOn, "fail-on", "", "end with status 3 when there is a finding as grave as fault, caution or remark")
	flags.StringVar(&f.rules, "rules", partwriting.DefaultRuleSet, "rule set by `name`, or a .yaml or .json file with one of your own; see partwright rules --help")
	flags.StringVar(&f.rubric, "rubric", "", "propose a mark in the findings, by the rubric of that `name` ("+strings.Join(rubricNames(), ", ")+") or a .yaml or .json file with one of your own")
	flags.StringVar(&f.accepted, "accepted", "", "a .yaml or .json `file` with what to let stand, by printed measure, such as \"12: [direct-fifths]\"")
	flags.IntVar(&f.fixes, "fixes", 0, "how many ways to mend it to look for with each fault and caution")
	flags.StringVar(&f.language, "lang", "en", "language of the sentences")
	pool := worker.DefaultPoolConfig()
	flags.IntVar(&f.workers, "workers", pool.Size, "scores worked on at once")
	flags.DurationVar(&f.timeout, "timeout", pool.Deadline, "longest time for one score")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no table, no progress and no summary; unreadable scores are still named")
	addLimits(flags, &f.limits)
	addArchiveLimits(flags, &f.archives)
	return cmd
}

// checking is one run of partwright check.
type checking struct {
	*sweep
	output output
	voices bool
	// analysis asks for the files of the harmonic analysis; statistics counts
	// over all scores.
	analysis   bool
	statistics worker.HarmonyStatistics
	failOn     partwriting.Severity
	summary    worker.Summary
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
	annotate, err := musicxml.ParseLayers(f.annotate)
	if err != nil {
		return fmt.Errorf("--annotate: %w", err)
	}
	if annotate != 0 && f.out == "" {
		return errors.New("--annotate writes into marked scores: name a folder for them with --out")
	}
	if _, ok := partwriting.CatalogFor(f.language); !ok {
		return fmt.Errorf("--lang %s: %w", f.language, worker.ErrLanguage)
	}
	set, err := ruleSet(f.rules)
	if err != nil {
		return err
	}
	if f.accepted != "" {
		accepted, err := fromFile(f.accepted, worker.ReadAccepted)
		if err != nil {
			return err
		}
		set = set.Accepting(accepted)
	}
	given, err := harmony.ParseLabelUse(f.given)
	if err != nil {
		return fmt.Errorf("--given: %w", err)
	}
	rubric, err := rubricNamed(f.rubric)
	if err != nil {
		return err
	}
	c := &checking{voices: f.voices, analysis: f.analysis}
	if c.failOn, err = severityNamed("fail-on", f.failOn); err != nil {
		return err
	}
	if c.output, err = newOutput(cmd.OutOrStdout(), f); err != nil {
		return err
	}
	if c.sweep, err = newSweep(cmd, f, paths); err != nil {
		return err
	}
	defer c.close()
	options := worker.Options{
		RuleSet: set, Fixes: f.fixes, Rubric: rubric, Language: f.language, Marks: f.out != "", Upgrade: f.upgrade,
		Analysis: f.analysis, Given: given, Annotate: annotate,
	}
	labels, err := newLabelFiles(f.labels, paths)
	if err != nil {
		return err
	}
	check := func(ctx context.Context, in worker.Input) (*worker.Result, error) {
		var err error
		if in.Labels, err = labels.of(in.Name); err != nil {
			return nil, err
		}
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

func severityNamed(flag, word string) (partwriting.Severity, error) {
	for _, s := range []partwriting.Severity{partwriting.Fault, partwriting.Caution, partwriting.Remark} {
		if s.String() == word {
			return s, nil
		}
	}
	if word == "" {
		return partwriting.Off, nil
	}
	return partwriting.Off, fmt.Errorf("--%s %s: say fault, caution or remark", flag, word)
}

// take files and prints the result of one score.
func (c *checking) take(item worker.Item, r *worker.Result) error {
	c.summary.Add(&r.Report.Summary)
	if c.dir != nil {
		if err := c.file(item, r); err != nil {
			return err
		}
	}
	return c.output.Report(r.Report)
}

// file writes the files of one score into the folder for answers.
func (c *checking) file(item worker.Item, r *worker.Result) error {
	name := c.dir.Claim(item.Place)
	findings, err := worker.FindingsJSON(r.Report)
	if err != nil {
		return err
	}
	if err := c.dir.Write(name+".findings.json", findings); err != nil {
		return err
	}
	if c.voices {
		voices, err := worker.VoicesCSV(r.Texture)
		if err != nil {
			return err
		}
		if err := c.dir.Write(name+".voices.csv", voices); err != nil {
			return err
		}
	}
	if c.analysis {
		if err := c.fileAnalysis(name, r); err != nil {
			return err
		}
	}
	return c.dir.Write(name+".marked"+worker.ScoreExtension(r.Marked), r.Marked)
}

// fileAnalysis writes the harmonic analysis of one score in its three forms.
func (c *checking) fileAnalysis(name string, r *worker.Result) error {
	c.statistics.Add(r.Harmony)
	for _, form := range []struct {
		ending string
		make   func() ([]byte, error)
	}{
		{".rntxt", func() ([]byte, error) { return worker.RomanText(r.Report.Score.Title, r.Harmony) }},
		{".analysis.json", func() ([]byte, error) { return worker.AnalysisJSON(r.Texture, r.Harmony) }},
		{".harmonies.csv", func() ([]byte, error) { return worker.HarmoniesCSV(r.Report.File, r.Texture, r.Harmony) }},
	} {
		data, err := form.make()
		if err != nil {
			return err
		}
		if err := c.dir.Write(name+form.ending, data); err != nil {
			return err
		}
	}
	return nil
}

// fileStatistics writes what the analyses of all scores come to.
func (c *checking) fileStatistics() error {
	if !c.analysis || c.dir == nil {
		return nil
	}
	name := c.dir.Claim("statistics")
	for ending, form := range map[string]func() ([]byte, error){".csv": c.statistics.CSV, ".json": c.statistics.JSON} {
		data, err := form()
		if err != nil {
			return err
		}
		if err := c.dir.Write(name+ending, data); err != nil {
			return err
		}
	}
	return nil
}

// conclude says what the whole run came to.
func (c *checking) conclude() error {
	c.tell("%s: %s, %s, %s", c.tally(),
		count(c.summary.Faults, "fault"), count(c.summary.Cautions, "caution"), count(c.summary.Remarks, "remark"))
	if c.unreadable == 0 && c.failOn != partwriting.Off && c.summary.AtLeast(c.failOn) > 0 {
		return &status{code: exitFound}
	}
	return c.end()
}
