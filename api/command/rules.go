package command

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker/settings"
)

func newRules() *cobra.Command {
	var language, set string
	var page bool
	cmd := &cobra.Command{
		Use:   "rules [RULE]",
		Short: "List the rules, or show one in full",
		Long: `Rules lists every rule with the severity it has in a rule set. With the name of
a rule it shows why the rule matters, how to mend what breaks it, and where its
definition comes from; with --page it writes out the whole set to read or print.

Rule sets: ` + strings.Join(ruleSetNames(), ", ") + ".",
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			catalog, ok := partwriting.CatalogFor(language)
			if !ok {
				return fmt.Errorf("--lang %s: there are no sentences in that language; say one of %s", language, strings.Join(partwriting.Languages(), ", "))
			}
			chosen, err := ruleSet(set)
			if err != nil {
				return err
			}
			if page {
				return writeRuleSetPage(cmd.OutOrStdout(), chosen, catalog, args)
			}
			if len(args) == 0 {
				_, err := fmt.Fprintln(cmd.OutOrStdout(), ruleList(chosen, catalog, widthOf(cmd.OutOrStdout())))
				return err
			}
			for _, r := range partwriting.Rules() {
				if string(r.ID) == args[0] {
					page := rulePage(r, chosen, catalog, widthOf(cmd.OutOrStdout()))
					_, err := fmt.Fprint(cmd.OutOrStdout(), page)
					return err
				}
			}
			return unknownName("rule", args[0], ruleNames(), "partwright rules lists them all")
		},
	}
	cmd.Flags().StringVar(&language, "lang", "en", "language of the sentences")
	cmd.Flags().StringVar(&set, "set", partwriting.DefaultRuleSet, "rule set by name, or a file with one of your own")
	cmd.Flags().BoolVar(&page, "page", false, "write the whole rule set as a page of HTML: every rule with definition, reason, source and severity")
	return cmd
}

func writeRuleSetPage(w io.Writer, set *partwriting.RuleSet, catalog *partwriting.Catalog, args []string) error {
	if len(args) > 0 {
		return errors.New("--page writes the whole rule set: name no rule with it")
	}
	page, err := settings.RuleSetPage(set, catalog)
	if err != nil {
		return err
	}
	_, err = w.Write(page)
	return err
}

func ruleNames() []string {
	var names []string
	for _, r := range partwriting.Rules() {
		names = append(names, string(r.ID))
	}
	return names
}

func ruleSetNames() []string {
	var names []string
	for _, s := range partwriting.RuleSets() {
		names = append(names, s.Name)
	}
	return names
}

// ruleSet returns the set of that name, or reads it from a file of one's own.
func ruleSet(name string) (*partwriting.RuleSet, error) {
	if set := partwriting.RuleSetByName(name); set != nil {
		return set, nil
	}
	if !isSettingsFile(name) {
		return nil, unknownName("rule set", name, ruleSetNames(), oneOrFile(ruleSetNames()))
	}
	return fromFile(name, settings.ReadRuleSet)
}

// fromFile reads a file of settings.
func fromFile[T any](name string, read func(string, []byte) (T, error)) (T, error) {
	var none T
	file, err := os.Open(name) // #nosec G304 -- the user's own settings
	if err != nil {
		return none, err
	}
	defer func() { _ = file.Close() }()
	data, err := io.ReadAll(io.LimitReader(file, settings.MaxBytes+1))
	if err != nil {
		return none, err
	}
	return read(name, data)
}

func oneOrFile(names []string) string {
	return "say one of " + strings.Join(names, ", ") + ", or a file ending in .yaml, .yml or .json"
}

func isSettingsFile(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".yaml", ".yml", ".json":
		return true
	}
	return false
}

// ruleList names rules and families as options and filters do, whatever the language.
func ruleList(set *partwriting.RuleSet, catalog *partwriting.Catalog, width int) string {
	var rows [][]string
	for _, r := range partwriting.Rules() {
		rows = append(rows, []string{string(r.ID), r.Family.String(), catalog.Severities[set.SeverityOf(r).String()], r.Source.Work})
	}
	return grid(width, []string{catalog.Table.Rule, catalog.Table.Family, catalog.Table.Severity, catalog.Table.Source}, rows)
}

func rulePage(r *partwriting.Rule, set *partwriting.RuleSet, catalog *partwriting.Catalog, width int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s)\n\n", r.ID, catalog.RuleName(r.ID))
	fmt.Fprintf(&b, "%s\n\n", wrap(catalog.Rules[r.ID].Definition, width))
	fmt.Fprintf(&b, "%s\n\n", wrap(catalog.Why(r.ID), width))
	if terms := catalog.TermsOf(r.ID); len(terms) > 0 {
		fmt.Fprintf(&b, "%s\n", catalog.TermsHead)
		for i := range terms {
			fmt.Fprintf(&b, "%s\n", wrap("- "+terms[i].Says(), width))
		}
		b.WriteByte('\n')
	}
	for _, line := range [][2]string{
		{catalog.Table.Family, fmt.Sprintf("%s (%s)", catalog.Families[r.Family.String()], r.Family)},
		{catalog.Table.RuleSet, set.Title()},
		{catalog.Table.Severity, catalog.Severities[set.SeverityOf(r).String()]},
		{catalog.Table.Source, r.Source.String()},
	} {
		fmt.Fprintf(&b, "%s\n", wrap(headed(line[0], line[1]), width))
	}
	return b.String()
}

// headed puts a word in front of what it heads.
func headed(word, text string) string {
	first, size := utf8.DecodeRuneInString(word)
	return string(unicode.ToUpper(first)) + word[size:] + ": " + text
}
