package command

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"golang.org/x/term"

	"partwright/worker/report"
)

// tables prints findings to read: a heading and a table for each score.
type tables struct {
	w     io.Writer
	width int
	begun bool
}

// Widths of a page in columns: what a file gets, what even a narrow terminal gets
// and a wide one at most; below narrow, rule and severity share a column.
const (
	pageWidth  = 100
	narrowest  = 60
	narrow     = 100
	widestPage = 160
	leastCell  = 20
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

func (t *tables) Report(r *report.Report) error {
	if t.begun {
		fmt.Fprintln(t.w)
	}
	t.begun = true
	fmt.Fprintln(t.w, wrap(heading(r), t.width))
	for _, n := range r.Notices {
		fmt.Fprintln(t.w, wrap("  note: "+notice(&n), t.width))
	}
	body := "  nothing found"
	if len(r.Findings) > 0 {
		body = t.render(r.Findings)
	}
	if r.Grade != nil {
		body += "\n" + wrap(proposedMark(r.Grade), t.width)
	}
	_, err := fmt.Fprintln(t.w, body)
	return err
}

// proposedMark is the mark with what each phrase costs and what is well done.
func proposedMark(m *report.Grade) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s of %s. %s", m.Rubric, m.Earned, m.Available, m.Note)
	for _, p := range m.Phrases {
		if p.Lost != "0" {
			fmt.Fprintf(&b, " From m. %s: -%s.", p.Measure, p.Lost)
		}
	}
	for _, praise := range m.Praise {
		fmt.Fprintf(&b, " + %s.", praise)
	}
	return b.String()
}

func heading(r *report.Report) string {
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

func notice(n *report.Notice) string {
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

func (t *tables) render(findings []report.Finding) string {
	header := []string{"#", "m.", "beat", "voices", "severity", "rule", "what"}
	if t.width < narrow {
		header = []string{"#", "m.", "beat", "voices", "severity, rule", "what"}
	}
	rows := make([][]string, len(findings))
	for i := range findings {
		f := &findings[i]
		rows[i] = []string{
			strconv.Itoa(f.Number), f.Measure, strconv.FormatFloat(f.Beat, 'f', -1, 64), strings.Join(f.Voices, " "),
		}
		severity := severitySigns[f.Severity] + " " + f.Severity
		if t.width < narrow {
			rows[i] = append(rows[i], severity+"\n"+f.Rule, f.Message)
		} else {
			rows[i] = append(rows[i], severity, f.Rule, f.Message)
		}
	}
	return grid(t.width, header, rows)
}

// grid draws a table with rules between columns. Its last column takes what the
// others leave of the width.
func grid(width int, header []string, rows [][]string) string {
	w := table.NewWriter()
	w.SetStyle(table.StyleLight)
	w.Style().Format.Header = text.FormatDefault
	w.Style().Options.DrawBorder = false
	left := width
	for c, title := range header[:len(header)-1] {
		widest := text.StringWidthWithoutEscSequences(title)
		for _, row := range rows {
			widest = max(widest, text.LongestLineLen(row[c]))
		}
		left -= widest + 3 // a blank on either side, and the rule
	}
	w.AppendHeader(cells(header))
	for _, row := range rows {
		w.AppendRow(cells(row))
	}
	w.SetColumnConfigs([]table.ColumnConfig{
		{Name: "#", Align: text.AlignRight, AlignHeader: text.AlignRight},
		{Name: "m.", Align: text.AlignRight, AlignHeader: text.AlignRight},
		{Number: len(header), WidthMax: max(left-2, leastCell), WidthMaxEnforcer: text.WrapSoft},
	})
	lines := strings.Split(w.Render(), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

func cells(row []string) table.Row {
	out := make(table.Row, len(row))
	for i := range row {
		out[i] = row[i]
	}
	return out
}

func (t *tables) Failure(*report.Failure) error { return nil }
func (t *tables) Close() error                  { return nil }
