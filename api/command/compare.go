package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"partwright/worker/collection"
	"partwright/worker/report"
)

// compareCommand are the settings of partwright compare.
type compareCommand struct {
	format, differing string
	sample            int
	seed              uint64
	quiet             bool
}

func newCompare() *cobra.Command {
	var f compareCommand
	cmd := &cobra.Command{
		Use:   "compare [flags] BEFORE AFTER",
		Short: "Compare two folders of answers: findings new, gone and changed",
		Long: `Compare reads two folders of answers that check --out or batch --out wrote over the same
scores, by two versions or by two rule sets, and says which findings are new in AFTER,
which are gone, and which have another severity, another harmony or other notes. Scores
are the same where their paths in the folders are. Findings are the same where rule, onset
and voices are; other words alone are counted and no difference.

It prints how many there are by rule. With --sample it prints some of them, to be judged
by somebody who can; with --format csv or ndjson it prints all. --differing writes the
names of the scores that are answered otherwise to a file.

Exit status: 0 the folders were read, whatever differs; 1 they could not be; 2 wrong use.`,
		Example: `  partwright compare answers-v1 answers-v2
  partwright compare --sample 40 --seed 7 --format csv answers-v1 answers-v2 >to-judge.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return errors.New("name two folders of answers, such as: partwright compare answers-v1 answers-v2")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd, args[0], args[1]) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, ndjson or csv")
	flags.IntVar(&f.sample, "sample", 0, "print so many differences that chance chooses (0: by rule how many there are, with csv or ndjson all)")
	flags.Uint64Var(&f.seed, "seed", 1, "with --sample: the same number chooses the same")
	flags.StringVar(&f.differing, "differing", "", "file for the names of the scores that are answered otherwise, one a line")
	markCommandLineOnly(flags)
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no summary")
	return cmd
}

func (f *compareCommand) run(cmd *cobra.Command, before, after string) error {
	out, err := newDifferenceOutput(cmd.OutOrStdout(), f.format)
	if err != nil {
		return err
	}
	for _, dir := range []string{before, after} {
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			return Failed(fmt.Errorf("%s: there is no such folder", dir))
		}
	}
	var files []string
	sample := collection.NewSample(f.sample, f.seed)
	each := func(d *collection.Difference) error {
		if len(files) == 0 || files[len(files)-1] != d.File {
			files = append(files, d.File)
		}
		switch {
		case f.sample > 0:
			return sample.Add(d)
		case f.format == "table":
			return nil
		}
		return out.difference(d)
	}
	c, err := collection.Compare(cmd.Context(), os.DirFS(before), os.DirFS(after), each)
	if err != nil {
		return Failed(fmt.Errorf("the answers could not be compared: %w", err))
	}
	if c.Same+c.Differing == 0 {
		return Failed(fmt.Errorf("%s and %s have no answer in common: name the folders that were given as --out, over the same paths", before, after))
	}
	if err = sample.Each(out.difference); err == nil {
		err = out.end(c, f.sample > 0)
	}
	if err == nil && f.differing != "" {
		err = os.WriteFile(f.differing, []byte(lines(files)), 0o600)
	}
	if err != nil {
		return Failed(fmt.Errorf("what differs could not be written: %w", err))
	}
	f.say(newConsole(cmd, f.quiet), c)
	return nil
}

// lines are texts, one a line.
func lines(texts []string) string {
	var b strings.Builder
	for _, t := range texts {
		b.WriteString(t + "\n")
	}
	return b.String()
}

// say sums up.
func (f *compareCommand) say(console *console, c *collection.Comparison) {
	for _, side := range []struct {
		name string
		by   map[string]int
	}{{"before", c.Before}, {"after", c.After}} {
		for _, who := range slices.Sorted(maps.Keys(side.by)) {
			console.inform("%s: %s by %s", side.name, count(side.by[who], "score"), who)
		}
	}
	console.inform("%s in both: %d the same, %d differ; %d only before, %d only after; %s told in other words",
		count(c.Same+c.Differing, "score"), c.Same, c.Differing, c.OnlyBefore, c.OnlyAfter, count(c.Reworded, "finding"))
}

// differenceOutput prints differences, and in the end what they come to.
type differenceOutput interface {
	difference(*collection.Difference) error
	end(c *collection.Comparison, sampled bool) error
}

// differenceColumns are those of CSV; verdict is for whoever judges.
var differenceColumns = []string{"kind", "file", "rule", "family", "before", "after", "measure", "beat", "voices", "harmony", "message", "verdict"}

func newDifferenceOutput(w io.Writer, format string) (differenceOutput, error) {
	switch format {
	case "table":
		return &differenceTable{w: w, width: widthOf(w)}, nil
	case "ndjson":
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		return differenceLines{out}, nil
	case "csv":
		return differenceSheet{report.NewSpreadsheet(w, differenceColumns)}, nil
	}
	return nil, fmt.Errorf("--format %s: say table, ndjson or csv", format)
}

type differenceLines struct{ out *json.Encoder }

func (l differenceLines) difference(d *collection.Difference) error { return l.out.Encode(d) }
func (l differenceLines) end(*collection.Comparison, bool) error    { return nil }

type differenceSheet struct{ out *report.Spreadsheet }

func (s differenceSheet) difference(d *collection.Difference) error {
	return s.out.Write([]string{d.Kind, d.File, d.Rule, d.Family, d.Before, d.After, d.Measure, beat(d.Beat), d.Voices, d.Harmony, d.Message, ""})
}
func (s differenceSheet) end(*collection.Comparison, bool) error { return s.out.Write() }

// differenceTable prints the sample, or how many there are by rule.
type differenceTable struct {
	w     io.Writer
	width int
	rows  [][]string
}

func (t *differenceTable) difference(d *collection.Difference) error {
	severity := d.After
	switch d.Kind {
	case collection.DifferenceGone:
		severity = d.Before
	case collection.DifferenceChanged:
		severity = d.Before + " to " + d.After
	}
	t.rows = append(t.rows, []string{d.Kind, d.File, d.Measure, beat(d.Beat), d.Voices, d.Rule + "\n" + severity, d.Message})
	return nil
}

func (t *differenceTable) end(c *collection.Comparison, sampled bool) error {
	head := []string{"", "score", "m.", "beat", "voices", "rule", "what"}
	if !sampled {
		head = []string{"rule", "new", "gone", "changed", "scores"}
		for _, r := range c.Rules {
			t.rows = append(t.rows, []string{r.Rule, strconv.Itoa(r.New), strconv.Itoa(r.Gone), strconv.Itoa(r.Changed), strconv.Itoa(r.Scores)})
		}
	}
	if len(t.rows) == 0 {
		return nil
	}
	_, err := fmt.Fprintln(t.w, grid(t.width, head, t.rows))
	return err
}
