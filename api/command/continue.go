package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/spf13/cobra"

	"partwright/worker"
	"partwright/worker/report"
	"partwright/worker/request"
)

func newContinue() *cobra.Command {
	var r request.Continue
	var fields *requestFlags
	var format string
	cmd := &cobra.Command{
		Use:   "continue [flags] CHORDS",
		Short: "List the ways from one sonority to the next chord",
		Long: `Continue lists the ways from a sonority to the next chord in the order in which a
teacher weighs them: common tones kept, upper voices against the bass, all up, all
down, mixed. In each group come first those that break no rule, then those with a
caution, then those with a fault. Each way comes with the interval of every voice,
with what the rules say and what deserves a second look, and with the number of ways
in which each later chord could follow. A chord that could not follow at all is closed.

CHORDS are a key and a phrase of chords. Those at its beginning whose notes are all held
in braces, from the top voice down, sound; the next one is chosen. Each way comes with
what the phrase costs if it goes on from there in the best way. The last line is the
phrase with the first way held: ask again with it, or with another way in its place, for
the change after it; partwright voice solves the rest.

Without notes, the first chord stands as in the best voicing. One chord alone is the next
after the notes given with --from, which name the chord that sounds.`,
		Example: `  partwright continue --from "E5 G4 C4 C3" "C: I V"
  partwright continue --from "Bb4 F4 D4 Bb2" --then "V I" --best 1 "Bb: ii65"
  partwright continue --best 1 "C: I{E5,G4,C4,C3} V{D5,G4,B3,G3} vi IV V I"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New(`give the chords in quotes, such as "C: I V"`)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := fields.bind(request.Values{"chords": {Text: args[0]}}); err != nil {
				return err
			}
			plan, err := r.Plan()
			if err != nil {
				return fields.inFlags(err)
			}
			a, err := (&worker.Engine{Version: cmd.Root().Version}).Do(cmd.Context(), worker.Input{}, plan)
			if err != nil {
				return err
			}
			switch format {
			case "json":
				encoder := json.NewEncoder(cmd.OutOrStdout())
				encoder.SetIndent("", "  ")
				return encoder.Encode(a.Report)
			case "table":
				_, err := fmt.Fprint(cmd.OutOrStdout(), continuationTable(a.Report.(*report.Continuation), widthOf(cmd.OutOrStdout())))
				return err
			}
			return fmt.Errorf("--format %s: say table or json", format)
		},
	}
	flags := cmd.Flags()
	fields = addRequest(flags, &r)
	flags.StringVar(&format, "format", "table", "what to print: table or json")
	return cmd
}

// continuationTable shows each group as a table with a row for each option.
func continuationTable(r *report.Continuation, width int) string {
	var b strings.Builder
	fmt.Fprintln(&b, wrap(fmt.Sprintf("From %s: %s (%s) to %s: %s",
		r.From.Key, r.From.Numeral, strings.Join(r.From.Pitches, " "), r.To.Key, r.To.Numeral), width))
	if len(r.Groups) == 0 {
		b.WriteString("No arrangement of the next chord lies within the ranges and the spacing of the style.\n")
	}
	for i, table := range optionTables(r, width) {
		way := r.Groups[i].Way
		fmt.Fprintf(&b, "\n%s\n%s\n", strings.ToUpper(way[:1])+strings.ReplaceAll(way[1:], "-", " "), table)
	}
	if len(r.Groups) > 0 && r.Chords > 2 {
		fmt.Fprintf(&b, "\nHeld, the first is\n%s\n", r.Groups[0].Options[0].Hold)
	}
	return b.String()
}

// optionTables are a table a group. What an option opens, what it closes and what to look
// at have a column each, or one for all three where any table would be too wide.
func optionTables(r *report.Continuation, width int) []string {
	voices := append(slices.Clone(r.Voices), "cost")
	header := append(slices.Clone(voices), "top line")
	if r.Chords > 2 {
		header = append(header, "phrase")
	}
	header = append(header, "opens", "closes", "look at")
	groups := make([][][]string, len(r.Groups))
	widths := make([]int, len(header))
	for i, g := range r.Groups {
		for k := range g.Options {
			row := optionRow(r, &g.Options[k])
			groups[i] = append(groups[i], row)
			for c, cell := range row {
				widths[c] = max(widths[c], text.LongestLineLen(cell), len(header[c]))
			}
		}
	}
	if tableWidth(widths) > width {
		beyond := header[len(voices):]
		header = append(slices.Clone(voices), "to consider")
		for _, rows := range groups {
			for i, row := range rows {
				rows[i] = append(row[:len(voices):len(voices)], consider(beyond, row[len(voices):]))
			}
		}
	}
	tables := make([]string, len(groups))
	for i, rows := range groups {
		tables[i] = grid(width, header, rows)
	}
	return tables
}

// consider is what else there is to say of an option, a line each.
func consider(names, cells []string) string {
	var lines []string
	for i, name := range names {
		switch {
		case cells[i] == "":
		case name == "look at":
			lines = append(lines, cells[i])
		default:
			lines = append(lines, name+" "+cells[i])
		}
	}
	return strings.Join(lines, "\n")
}

func optionRow(r *report.Continuation, o *report.ContinuationOption) []string {
	var row []string
	for _, m := range o.Moves {
		move := m.To + " " + m.Interval
		if m.Common {
			move = m.To + " kept"
		}
		row = append(row, move)
	}
	var opens, closes, looks []string
	for i, n := range o.Onward {
		if n > 0 {
			opens = append(opens, fmt.Sprintf("%s %d", r.Then[i].Numeral, n))
		}
	}
	for _, c := range o.Closed {
		if len(c.Findings) == 0 {
			closes = append(closes, c.Numeral)
		} else {
			closes = append(closes, c.Numeral+": "+c.Findings[0].Message)
		}
	}
	for _, f := range o.Findings {
		looks = append(looks, f.Severity+": "+f.Message)
	}
	for _, a := range o.Awkward {
		looks = append(looks, a.Says)
	}
	row = append(row, fmt.Sprintf("%.2f", o.Cost), o.Line)
	if r.Chords > 2 {
		row = append(row, phraseCost(o))
	}
	return append(row, strings.Join(opens, ", "), strings.Join(closes, "; "), strings.Join(looks, "\n"))
}

// phraseCost is what the whole phrase costs with an option, and what it breaks.
func phraseCost(o *report.ContinuationOption) string {
	cost := fmt.Sprintf("%.2f", o.Phrase)
	if o.PhraseBroken > 0 {
		cost += ", " + count(o.PhraseBroken, "fault")
	}
	return cost
}
