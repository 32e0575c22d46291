package command

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/settings"
)

// checkFlags are the settings of partwright check, most of them also of partwright
// batch.
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

// add adds the flags that say what is done with scores and where the answers go,
// which check and batch share.
func (f *checkFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.out, "out", "", "folder to write NAME.findings.json and NAME.marked.musicxml (.mxl) to for each score")
	flags.BoolVar(&f.voices, "voices", false, "with --out, also write NAME.voices.csv")
	flags.BoolVar(&f.analysis, "analysis", false, "add the harmonic analysis to the findings; with --out, also write NAME.rntxt (RomanText), NAME.analysis.json and NAME.harmonies.csv, and for all scores statistics.csv and statistics.json")
	flags.StringVar(&f.labels, "labels", "", "an analysis in RomanText for one score, as a `file`, or \"beside\" for NAME.rntxt or NAME.txt beside each score, in its folder or archive; in place of the labels in the score")
	flags.StringVar(&f.given, "given", harmony.Steer.String(), "what labels in or beside a score do to the analysis: steer, replace, ignore")
	flags.StringVar(&f.annotate, "annotate", "", "with --out, write the analysis into the marked score: "+strings.Join(musicxml.LayerNames(), ", ")+", with commas between several")
	flags.BoolVar(&f.upgrade, "upgrade", false, "with --out, make older documents declare MusicXML 4.0 in the marked score, so that 1.0 gets colors too")
	flags.StringVar(&f.failOn, "fail-on", "", "end with status 3 when there is a finding as grave as fault, caution or remark")
	flags.StringVar(&f.rules, "rules", partwriting.DefaultRuleSet, "rule set by `name`, or a .yaml or .json file with one of your own; see partwright rules --help")
	flags.StringVar(&f.rubric, "rubric", "", "propose a mark in the findings, by the rubric of that `name` ("+strings.Join(rubricNames(), ", ")+") or a .yaml or .json file with one of your own")
	flags.StringVar(&f.accepted, "accepted", "", "a .yaml or .json `file` with what to let stand, by printed measure, such as \"12: [direct-fifths]\"")
	flags.IntVar(&f.fixes, "fixes", 0, "how many ways to mend it to look for with each fault and caution")
	flags.StringVar(&f.language, "lang", "en", "language of the sentences")
	pool := pool.DefaultConfig()
	flags.IntVar(&f.workers, "workers", pool.Size, "scores worked on at once")
	flags.DurationVar(&f.timeout, "timeout", pool.Deadline, "longest time for one score")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no table, no progress and no summary; unreadable scores are still named")
	addLimits(flags, &f.limits)
	addArchiveLimits(flags, &f.archives)
}

// options are what the flags ask the engine for.
func (f *checkFlags) options() (o worker.Options, err error) {
	o = worker.Options{Fixes: f.fixes, Language: f.language, Marks: f.out != "", Upgrade: f.upgrade, Analysis: f.analysis}
	if o.Annotate, err = musicxml.ParseLayers(f.annotate); err != nil {
		return o, fmt.Errorf("--annotate: %w", err)
	}
	if o.Annotate != 0 && f.out == "" {
		return o, errors.New("--annotate writes into marked scores: name a folder for them with --out")
	}
	if _, ok := partwriting.CatalogFor(f.language); !ok {
		return o, fmt.Errorf("--lang %s: %w", f.language, worker.ErrLanguage)
	}
	if o.RuleSet, err = ruleSet(f.rules); err != nil {
		return o, err
	}
	if f.accepted != "" {
		accepted, err := fromFile(f.accepted, settings.ReadAccepted)
		if err != nil {
			return o, err
		}
		o.RuleSet = o.RuleSet.Accepting(accepted)
	}
	if o.Given, err = harmony.ParseLabelUse(f.given); err != nil {
		return o, fmt.Errorf("--given: %w", err)
	}
	o.Rubric, err = rubricNamed(f.rubric)
	return o, err
}
