package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
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
				_, err := fmt.Fprint(cmd.OutOrStdout(), waysTable{a.Report.(*report.Continuation), plan.Catalog, widthOf(cmd.OutOrStdout())}.String())
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

// waysTable shows each group of ways as a table with a row for each option.
type waysTable struct {
	*report.Continuation
	words *partwriting.Catalog
	width int // in columns
}

// String writes all tables.
func (t waysTable) String() string {
	var b strings.Builder
	fmt.Fprintln(&b, wrap(t.words.Phrase(partwriting.WaysFrom,
		"from", t.From.Key+": "+t.From.Numeral, "notes", strings.Join(t.From.Pitches, " "), "to", t.To.Key+": "+t.To.Numeral), t.width))
	if len(t.Groups) == 0 {
		fmt.Fprintln(&b, wrap(t.words.Phrase(partwriting.WaysNone), t.width))
	}
	for i, table := range t.groups() {
		fmt.Fprintf(&b, "\n%s\n%s\n", t.words.Phrase(partwriting.Phrase("way-"+t.Groups[i].Way)), table)
	}
	if len(t.Groups) > 0 && t.Chords > 2 {
		fmt.Fprintf(&b, "\n%s\n%s\n", t.words.Phrase(partwriting.WaysHeld), t.Groups[0].Options[0].Hold)
	}
	return b.String()
}

// groups are a table a group. What an option opens, what it closes and what to look at
// have a column each, or one for all three where any table would be too wide.
func (t waysTable) groups() []string {
	voices := append(slices.Clone(t.Voices), t.words.Phrase(partwriting.WayCosts))
	beyond := []partwriting.Phrase{partwriting.WayTopLine, partwriting.WayPhrase, partwriting.WayOpens, partwriting.WayCloses, partwriting.WayLookAt}
	if t.Chords <= 2 {
		beyond = slices.Delete(beyond, 1, 2)
	}
	header := slices.Clone(voices)
	for _, column := range beyond {
		header = append(header, t.words.Phrase(column))
	}
	groups := make([][][]string, len(t.Groups))
	widths := make([]int, len(header))
	for i, g := range t.Groups {
		for k := range g.Options {
			row := t.row(&g.Options[k])
			groups[i] = append(groups[i], row)
			for c, cell := range row {
				widths[c] = max(widths[c], text.LongestLineLen(cell), text.LongestLineLen(header[c]))
			}
		}
	}
	if tableWidth(widths) > t.width {
		header = append(slices.Clone(voices), t.words.Phrase(partwriting.WayConsider))
		for _, rows := range groups {
			for i, row := range rows {
				rows[i] = append(row[:len(voices):len(voices)], t.consider(beyond, row[len(voices):]))
			}
		}
	}
	tables := make([]string, len(groups))
	for i, rows := range groups {
		tables[i] = grid(t.width, header, rows)
	}
	return tables
}

// consider is what else there is to say of an option, a line each.
func (t waysTable) consider(columns []partwriting.Phrase, cells []string) string {
	var lines []string
	for i, column := range columns {
		switch {
		case cells[i] == "":
		case column == partwriting.WayLookAt:
			lines = append(lines, cells[i])
		default:
			lines = append(lines, t.words.Phrase(column)+" "+cells[i])
		}
	}
	return strings.Join(lines, "\n")
}

func (t waysTable) row(o *report.ContinuationOption) []string {
	var row []string
	for _, m := range o.Moves {
		if m.Common {
			row = append(row, t.words.Phrase(partwriting.NoteKept, "note", m.To))
		} else {
			row = append(row, m.To+" "+m.Interval)
		}
	}
	var opens, closes, looks []string
	for i, n := range o.Onward {
		if n > 0 {
			opens = append(opens, fmt.Sprintf("%s %d", t.Then[i].Numeral, n))
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
		looks = append(looks, t.words.Severities[f.Severity]+": "+f.Message)
	}
	for _, a := range o.Awkward {
		looks = append(looks, a.Says)
	}
	row = append(row, fmt.Sprintf("%.2f", o.Cost), o.Line)
	if t.Chords > 2 {
		row = append(row, t.phraseCost(o))
	}
	return append(row, strings.Join(opens, ", "), strings.Join(closes, "; "), strings.Join(looks, "\n"))
}

// phraseCost is what the whole phrase costs with an option, and what it breaks.
func (t waysTable) phraseCost(o *report.ContinuationOption) string {
	cost := fmt.Sprintf("%.2f", o.Phrase)
	switch {
	case o.PhraseBroken == 1:
		cost += ", " + t.words.Phrase(partwriting.BreaksOne)
	case o.PhraseBroken > 1:
		cost += ", " + t.words.Phrase(partwriting.BreaksSome, "number", o.PhraseBroken)
	}
	return cost
}
