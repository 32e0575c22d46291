package main

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"golang.org/x/term"

	"partwright/worker"
)

// tables prints findings to read: a heading and a table for each score.
type tables struct {
	w     io.Writer
	width int
	begun bool
}

// Widths of a page: what a file gets, and what even a narrow terminal gets.
const (
	pageWidth   = 100
	narrowest   = 60
	widestPage  = 160
	leastColumn = 20
)

func widthOf(w io.Writer) int {
	if f, ok := w.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			return min(max(width, narrowest), widestPage)
		}
	}
	return pageWidth
}

// severitySigns stand beside the word, so that the eye finds the faults.
var severitySigns = map[string]string{"fault": "✗", "caution": "!", "remark": "·"}

func (t *tables) Report(r *worker.Report) error {
	if t.begun {
		fmt.Fprintln(t.w)
	}
	t.begun = true
	fmt.Fprintln(t.w, heading(r))
	for _, n := range r.Notices {
		fmt.Fprintln(t.w, wrap("  note: "+notice(&n), t.width))
	}
	if len(r.Findings) == 0 {
		_, err := fmt.Fprintln(t.w, "  nothing found")
		return err
	}
	_, err := fmt.Fprintln(t.w, t.render(r.Findings))
	return err
}

func heading(r *worker.Report) string {
	title := ""
	if r.Score.Title != "" {
		title = " “" + r.Score.Title + "”"
	}
	names := make([]string, 0, len(r.Score.Voices))
	for _, v := range r.Score.Voices {
		names = append(names, v.Name)
	}
	return fmt.Sprintf("%s%s: %s, %s (%s)", r.File, title,
		count(r.Score.Measures, "measure"), strings.Join(names, " "), r.Score.Layout)
}

func notice(n *worker.NoticeReport) string {
	where := ""
	if n.Part != "" {
		where += "part " + n.Part + ", "
	}
	if n.Measure != "" {
		where += "measure " + n.Measure + ", "
	}
	if n.Line > 0 {
		where += fmt.Sprintf("line %d, ", n.Line)
	}
	return where + n.Message
}

func (t *tables) render(findings []worker.FindingReport) string {
	w := table.NewWriter()
	w.SetStyle(table.StyleLight)
	w.Style().Format.Header = text.FormatDefault
	w.AppendHeader(table.Row{"#", "m.", "beat", "voices", "severity", "rule", "what"})
	used := 0
	widths := [6]int{1, 2, 4, 6, 8, 4}
	for i := range findings {
		f := &findings[i]
		row := [6]string{
			strconv.Itoa(f.Number), f.Measure, strconv.FormatFloat(f.Beat, 'f', -1, 64),
			strings.Join(f.Voices, " "), severitySigns[f.Severity] + " " + f.Severity, f.Rule,
		}
		cells := make(table.Row, 0, len(row)+1)
		for c, cell := range row {
			widths[c] = max(widths[c], text.StringWidthWithoutEscSequences(cell))
			cells = append(cells, cell)
		}
		w.AppendRow(append(cells, f.Message))
	}
	for _, width := range widths {
		used += width + 3 // a rule and a blank on either side
	}
	w.SetColumnConfigs([]table.ColumnConfig{
		{Number: 1, Align: text.AlignRight, AlignHeader: text.AlignRight},
		{Number: 2, Align: text.AlignRight, AlignHeader: text.AlignRight},
		{Number: 7, WidthMax: max(t.width-used-4, leastColumn), WidthMaxEnforcer: text.WrapSoft},
	})
	return w.Render()
}

func (t *tables) Failure(*worker.Failure) error { return nil }
func (t *tables) Close() error                  { return nil }
