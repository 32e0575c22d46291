package main

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
)

func newRules() *cobra.Command {
	var language string
	cmd := &cobra.Command{
		Use:   "rules [RULE]",
		Short: "List the rules, or show one in full",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			catalog, ok := partwriting.CatalogFor(language)
			if !ok {
				return fmt.Errorf("--lang %s: there are no sentences in that language", language)
			}
			if len(args) == 0 {
				_, err := fmt.Fprintln(cmd.OutOrStdout(), ruleList())
				return err
			}
			for _, r := range partwriting.Rules() {
				if string(r.ID) == args[0] {
					_, err := fmt.Fprint(cmd.OutOrStdout(), rulePage(r, catalog, widthOf(cmd.OutOrStdout())))
					return err
				}
			}
			return fmt.Errorf("there is no rule %q: partwright rules lists them all", args[0])
		},
	}
	cmd.Flags().StringVar(&language, "lang", "en", "language of the sentences")
	return cmd
}

func ruleList() string {
	w := table.NewWriter()
	w.SetStyle(table.StyleLight)
	w.Style().Format.Header = text.FormatDefault
	w.AppendHeader(table.Row{"rule", "family", "severity", "source"})
	for _, r := range partwriting.Rules() {
		w.AppendRow(table.Row{string(r.ID), r.Family.String(), r.Severity.String(), r.Source.Work})
	}
	return w.Render()
}

func rulePage(r *partwriting.Rule, catalog *partwriting.Catalog, width int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s, %s unless a rule set says otherwise)\n\n", r.ID, r.Family, r.Severity)
	fmt.Fprintf(&b, "%s\n\n", wrap(catalog.Why(r.ID), width))
	fmt.Fprintf(&b, "%s\n", wrap("Source: "+r.Source.String(), width))
	return b.String()
}
