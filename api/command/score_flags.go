package command

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/pflag"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/theory/partwriting"
	"partwright/worker/collection"
	"partwright/worker/pool"
)

// scoreFlags are the flags of every command that works on scores among paths: how they
// come in, how many at once, and where the answers go.
type scoreFlags struct {
	out    string
	labels string
	tables string
	// catalogue is a file of CSV, earlier a folder of answers, "" for none.
	catalogue, earlier string
	workers            int
	timeout            time.Duration
	quiet              bool
	limits             musicxml.Limits
	archives           archive.Limits
}

func (f *scoreFlags) add(flags *pflag.FlagSet, writes string) {
	flags.StringVar(&f.out, "out", "", "folder to write "+writes+" to, for each score")
	f.addWork(flags)
	addArchiveLimits(flags, &f.archives)
}

// addWork adds the flags of what one score may cost, and of how many at once.
func (f *scoreFlags) addWork(flags *pflag.FlagSet) {
	defaults := pool.DefaultConfig()
	flags.IntVar(&f.workers, "workers", defaults.Size, "scores worked on at once")
	flags.DurationVar(&f.timeout, "timeout", defaults.Deadline, "longest time for one score")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no table, no progress and no summary; unreadable scores are still named")
	addLimits(flags, &f.limits)
}

// addLabels adds the flag of an analysis beside the scores.
func (f *scoreFlags) addLabels(flags *pflag.FlagSet) {
	flags.StringVar(&f.labels, "labels", "", "an analysis in RomanText for one score, as a `file`, or \"beside\" for NAME.rntxt or NAME.txt beside each score, in its folder or archive; used instead of the labels in the score")
}

// addTables adds the flag of tables over all scores.
func (f *scoreFlags) addTables(flags *pflag.FlagSet) {
	flags.StringVar(&f.tables, "tables", "", "with --out, write scores, findings and, with --analysis, harmonies and cadences as Parquet to tables/VERSION/NAME, where `NAME` is what the collection is called")
	flags.StringVar(&f.catalogue, "catalogue", "", "with --tables, CSV that says more of files (date, licence, source): a `FILE` with a column file and any others, written as one more table")
}

// addEarlier adds the flag of answers of an earlier run.
func (f *scoreFlags) addEarlier(flags *pflag.FlagSet) {
	flags.StringVar(&f.earlier, "earlier", "", "folder that an earlier run has written with --out: answers that this version would give again are taken over")
}

// readCatalogue reads the catalogue that is named, nil for none.
func (f *scoreFlags) readCatalogue() (*collection.Catalogue, error) {
	if f.catalogue == "" {
		return nil, nil //nolint:nilnil // none is no error
	}
	if f.tables == "" {
		return nil, errors.New("--catalogue is written beside tables: name the collection with --tables")
	}
	text, err := os.ReadFile(f.catalogue)
	if err != nil {
		return nil, fmt.Errorf("--catalogue: %w", err)
	}
	c, err := collection.ReadCatalogue(text)
	if err != nil {
		return nil, fmt.Errorf("--catalogue %s: %w", f.catalogue, err)
	}
	return c, nil
}

// warnUnused says which files of a catalogue no score came for.
func (s *scores) warnUnused(c *collection.Catalogue) {
	if c == nil {
		return
	}
	if unused := c.Unused(); len(unused) > 0 {
		s.console.warn("files of the catalogue that did not come: %d, such as %s", len(unused), unused[0])
	}
}

// addFailOn adds the flag of the severity that makes a run end with status 3.
func addFailOn(flags *pflag.FlagSet, severity *string) {
	flags.StringVar(severity, "fail-on", "", "end with status 3 when there is a finding as grave as "+
		partwriting.Fault.String()+", "+partwriting.Caution.String()+" or "+partwriting.Remark.String())
}
