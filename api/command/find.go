package command

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/theory/partwriting"
	"partwright/worker/collection"
	"partwright/worker/request"
	"partwright/worker/store"
)

// foundKinds are what can be asked for.
var foundKinds = []string{store.FoundFindings, store.FoundHarmonies, store.FoundScores}

// foundHelp says what the columns of [store.FindBy] choose.
var foundHelp = map[string]string{
	"batch":    "in this collection or batch",
	"cadence":  "harmonies on which a cadence of this kind ends: PAC, IAC, HC, PC or DC",
	"composer": "of this composer, as the document says it",
	"engine":   "scores that this version answered",
	"family":   "of this family of rules",
	"formula":  "harmonies that end a cadence of these numerals, such as \"ii65 V7 vi\"",
	"key":      "in this key, such as \"G minor\"; scores, that are longest in it",
	"mode":     "in major or minor",
	"numeral":  "at this numeral in RomanText, such as N6",
	"outcome":  "scores that were checked, or failed",
	"rule":     "of this rule",
	"rule_set": "scores checked by this rule set",
	"severity": "of this severity: fault, caution or remark",
	"shape":    "scores that sound like this, transposed or not, by the shape of another row",
	"texture":  "scores taken for this texture, such as choir",
	"voices":   "between these voices, from the top, such as \"S B\"",
}

// findCommand are the settings of partwright find.
type findCommand struct {
	kind, format, countBy, succession string
	service                           string
	title, text, catalogue            string
	// is are the values of the columns by their names.
	is            map[string]*string
	limit, groups int
	quiet         bool
}

func newFind() *cobra.Command {
	f := findCommand{is: map[string]*string{}}
	cmd := &cobra.Command{
		Use:   "find [flags] DIR",
		Short: "Ask what was found in collections",
		Long: `Find asks tables of collections: those that check and batch wrote below DIR with
--out DIR --tables NAME, and those of batches that were downloaded into folders of their own.
It prints the findings, harmonies or scores for which all flags hold, or how many there are.

With --service URL it asks a running service about its batches instead. Where that wants a
key, the variable ` + serviceKey + ` holds one.

The questions are those of a service's /v1/findings, /v1/harmonies and /v1/scores, and a
line of NDJSON is a row of theirs. Where a collection was checked by several versions, name
the folder of one.

Exit status: 0 the tables were read, whatever was found; 1 some could not be read; 2 wrong use.`,
		Example: `  partwright find --rule parallel-fifths --voices "S B" --mode minor answers
  partwright find --kind harmonies --succession "V7 vi" --format csv answers
  partwright find --kind harmonies --cadence DC --count-by composer,formula answers`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case f.service != "" && len(args) > 0:
				return errors.New("name a folder of answers or --service, not both")
			case f.service == "" && len(args) != 1:
				return errors.New("name one folder of answers, such as: partwright find answers")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd, strings.Join(args, "")) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.kind, "kind", store.FoundFindings, "what to find: "+strings.Join(foundKinds, ", "))
	for _, name := range foundColumns() {
		f.is[name] = flags.String(flagOf(name), "", foundHelp[name])
	}
	flags.StringVar(&f.succession, "succession", "", fmt.Sprintf("at the last of these numerals, which follow one another in one key: up to %d, such as \"ii65 V7 vi\"", store.MostInSuccession))
	flags.StringVar(&f.title, "title", "", "in scores with all of these words in their title, in any case and without accents")
	flags.StringVar(&f.text, "text", "", "in scores with all of these words in their title, composer or file name")
	flags.StringVar(&f.countBy, "count-by", "", "count by up to three columns, with commas between them, and print only how many there are")
	flags.IntVar(&f.groups, "groups", 100, "with --count-by, how many groups to print, the largest first")
	flags.IntVar(&f.limit, "limit", 0, "stop after so many rows (0: all)")
	flags.StringVar(&f.catalogue, "catalogue", "", "with --service, in scores of which the catalogue of their batch says so, as `COLUMN=VALUE`")
	flags.StringVar(&f.service, "service", "", "ask the service at this address, such as http://127.0.0.1:8080, instead of a folder")
	markCommandLineOnly(flags)
	flags.StringVar(&f.format, "format", "table", "what to print: table, ndjson or csv")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no summary")
	return cmd
}

// foundColumns are those of all kinds.
func foundColumns() []string {
	var all []string
	for _, kind := range foundKinds {
		all = append(all, store.FindBy(kind)...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// flagOf is the flag of a column.
func flagOf(column string) string { return strings.ReplaceAll(column, "_", "-") }

// foundValues are the values that a column can have, where they are known.
func foundValues() map[string][]string {
	var families []string
	for _, r := range partwriting.Rules() {
		families = append(families, r.Family.String())
	}
	return map[string][]string{
		"rule": ruleNames(), "family": slices.Compact(families), "severity": request.Severities(),
		"mode": {"major", "minor"}, "outcome": {"checked", "failed"}, "cadence": {"PAC", "IAC", "HC", "PC", "DC"},
	}
}

// question is what the flags ask for.
func (f *findCommand) question(flags *pflag.FlagSet) (q store.Find, by []string, err error) {
	if !slices.Contains(foundKinds, f.kind) {
		return q, nil, fmt.Errorf("--kind %s: say %s", f.kind, strings.Join(foundKinds, ", "))
	}
	q = store.Find{Kind: f.kind, Title: f.title, Text: f.text, Succession: strings.Fields(f.succession), Is: map[string]string{}}
	if f.catalogue != "" && f.service == "" {
		return q, nil, errors.New("--catalogue asks a service: name one with --service")
	}
	if q.Kind != store.FoundHarmonies && flags.Changed("succession") {
		return q, nil, errors.New("--succession chooses harmonies: say --kind harmonies with it")
	}
	known, values := store.FindBy(f.kind), foundValues()
	for _, name := range foundColumns() {
		value := *f.is[name]
		if !flags.Changed(flagOf(name)) {
			continue
		}
		if !slices.Contains(known, name) {
			return q, nil, fmt.Errorf("--%s: %s cannot be chosen by it, but by %s", flagOf(name), f.kind, flagsOf(known))
		}
		if some := values[name]; some != nil && !slices.Contains(some, value) {
			return q, nil, fmt.Errorf("--%s: %w", flagOf(name), unknownName(strings.ReplaceAll(name, "_", " "), value, some, "say one of "+strings.Join(some, ", ")))
		}
		q.Is[name] = value
	}
	if f.countBy != "" {
		for name := range strings.SplitSeq(f.countBy, ",") {
			if name = strings.TrimSpace(name); !strings.HasPrefix(name, store.InCatalogue) {
				name = strings.ReplaceAll(name, "-", "_")
			}
			by = append(by, name)
		}
		if err := store.CheckCountBy(f.kind, by, f.service != ""); err != nil {
			return q, nil, fmt.Errorf("--count-by: %w", err)
		}
	}
	return q, by, nil
}

// flagsOf lists the flags of columns.
func flagsOf(columns []string) string {
	flags := make([]string, len(columns))
	for i, name := range columns {
		flags[i] = "--" + flagOf(name)
	}
	return strings.Join(flags, ", ")
}

// errEnough ends a search at the limit.
var errEnough = errors.New("enough")

func (f *findCommand) run(cmd *cobra.Command, dir string) error {
	q, by, err := f.question(cmd.Flags())
	if err != nil {
		return err
	}
	choice, err := q.Choice()
	if err != nil {
		return fmt.Errorf("--succession: %w", err)
	}
	out, err := newFoundOutput(cmd.OutOrStdout(), f.format, f.kind, by)
	if err != nil {
		return err
	}
	if f.service != "" {
		rows, err := f.askService(cmd.Context(), &q, by, out)
		if err != nil {
			return Failed(err)
		}
		newConsole(cmd, f.quiet).inform("%d %s found", rows, kindOf(f.kind, rows))
		return nil
	}
	s := search{choice: choice, kind: f.kind, limit: f.limit, each: out.row}
	if by != nil {
		s.tally = choice.Tally(by)
		s.each = func(row any) error { s.tally.Add(row); return nil }
	}
	console := newConsole(cmd, f.quiet)
	if err := s.below(cmd.Context(), dir, console); err != nil {
		return err
	}
	if s.tally != nil {
		err = out.counts(s.tally.Counts(f.groups))
	} else {
		err = out.close()
	}
	if err != nil {
		return Failed(fmt.Errorf("what was found could not be written: %w", err))
	}
	s.say(console)
	if s.unread > 0 {
		return &status{code: exitUnreadable}
	}
	return nil
}

// search goes through tables.
type search struct {
	choice                *store.Choice
	tally                 *store.Tally
	each                  func(row any) error
	kind                  string
	limit, rows           int
	scores, in, harmonies int // looked at, with a row, harmonies in all
	unread                int // folders
}

// below asks all tables below a folder. Tables that cannot be read are named, and the
// others go on.
func (s *search) below(ctx context.Context, dir string, console *console) error {
	folders, err := collection.Folders(dir)
	if err != nil {
		return Failed(fmt.Errorf("%s cannot be read: %w", dir, err))
	}
	if len(folders) == 0 {
		return Failed(fmt.Errorf("%s: there are no tables at or below it; partwright check --out %[1]s --tables NAME writes some", dir))
	}
	seen := map[string]string{}
	for _, folder := range folders {
		if other := seen[filepath.Base(folder)]; other != "" {
			console.warn("%s and %s have the same name: what is in both is found twice; name one of them", other, folder)
		}
		seen[filepath.Base(folder)] = folder
		var failed error // of the output
		err := collection.Read(ctx, folder, s.kind, func(found *store.Found) error {
			failed = s.score(found)
			return failed
		})
		switch {
		case errors.Is(err, errEnough):
			return nil
		case ctx.Err() != nil:
			return Failed(errors.New("stopped before the end"))
		case failed != nil:
			return Failed(fmt.Errorf("what was found could not be written: %w", failed))
		case err != nil:
			s.unread++
			console.warn("%v", err)
		}
	}
	return nil
}

// score asks one score.
func (s *search) score(found *store.Found) error {
	s.scores++
	s.harmonies += len(found.Harmonies)
	before := s.rows
	err := s.choice.Each(found, func(row any) error {
		if s.rows++; s.limit > 0 && s.rows > s.limit {
			s.rows--
			return errEnough
		}
		return s.each(row)
	})
	if s.rows > before {
		s.in++
	}
	return err
}

// say sums up.
func (s *search) say(console *console) {
	if s.kind == store.FoundHarmonies && s.harmonies == 0 && s.unread == 0 {
		console.warn("there are no harmonies in these tables: check again with --analysis")
	}
	console.inform("%d %s found in %d of %d scores", s.rows, kindOf(s.kind, s.rows), s.in, s.scores)
}

// kindOf is the word for so many rows of a kind.
func kindOf(kind string, rows int) string {
	if rows == 1 {
		return map[string]string{store.FoundFindings: "finding", store.FoundHarmonies: "harmony", store.FoundScores: "score"}[kind]
	}
	return kind
}
