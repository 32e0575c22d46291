package command

import (
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"golang.org/x/term"
)

// Widths of a page in columns: what a file gets, the least that is laid out for, and the
// most, since longer lines are hard to read.
const (
	pageWidth  = 80
	narrowest  = 40
	widestPage = 160
)

// widthOf is how many columns a table may have: as many as COLUMNS says (POSIX, "Base
// Definitions", 8.3), else as the terminal has.
func widthOf(w io.Writer) int {
	width := pageWidth
	if columns, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && columns > 0 {
		width = columns
	} else if f, ok := w.(*os.File); ok {
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 0 {
			width = columns
		}
	}
	return min(max(width, narrowest), widestPage)
}

// grid draws a table with rules between columns, no wider than the width: its widest
// columns give way. Where they cannot, each row becomes a heading of its own, with the
// last cell below it.
func grid(width int, header []string, rows [][]string) string {
	widths := columnWidths(width, append([][]string{header}, rows...))
	if widths == nil {
		return list(width, rows)
	}
	w := table.NewWriter()
	w.SetStyle(table.StyleLight)
	w.Style().Format.Header = text.FormatDefault
	w.Style().Options.DrawBorder = false
	w.AppendHeader(cells(header))
	for _, row := range rows {
		w.AppendRow(cells(row))
	}
	columns := make([]table.ColumnConfig, len(header))
	for c, title := range header {
		columns[c] = table.ColumnConfig{Number: c + 1, WidthMax: widths[c], WidthMaxEnforcer: wrap}
		if title == "#" || title == "m." {
			columns[c].Align, columns[c].AlignHeader = text.AlignRight, text.AlignRight
		}
	}
	w.SetColumnConfigs(columns)
	return trimLines(w.Render())
}

// short is the width of a cell that is not worth breaking.
const short = 7

// columnWidths are as wide as the cells need, but where the table would be too wide: then
// the widest that can be broken between words give way. It is nil where none can any
// more.
func columnWidths(width int, rows [][]string) []int {
	widths, least := make([]int, len(rows[0])), make([]int, len(rows[0]))
	for _, row := range rows {
		for c, cell := range row {
			widths[c] = max(widths[c], text.LongestLineLen(cell))
			for _, word := range strings.Fields(cell) {
				least[c] = max(least[c], text.StringWidthWithoutEscSequences(word))
			}
			least[c] = max(least[c], min(text.LongestLineLen(cell), short))
		}
	}
	for over := tableWidth(widths) - width; over > 0; over-- {
		widest := -1
		for c, w := range widths {
			if w > least[c] && (widest < 0 || w >= widths[widest]) {
				widest = c
			}
		}
		if widest < 0 {
			return nil
		}
		widths[widest]--
	}
	return widths
}

// tableWidth is that of a grid whose columns have these widths: a blank stands on either
// side of a cell, and a rule between two.
func tableWidth(columns []int) int {
	all := 3*len(columns) - 1
	for _, w := range columns {
		all += w
	}
	return all
}

func list(width int, rows [][]string) string {
	const indent = "    "
	var b strings.Builder
	for _, row := range rows {
		var heading []string
		for _, cell := range row[:len(row)-1] {
			if cell != "" {
				heading = append(heading, strings.ReplaceAll(cell, "\n", " "))
			}
		}
		b.WriteString(wrap(strings.Join(heading, " │ "), width) + "\n")
		for line := range strings.SplitSeq(wrap(row[len(row)-1], width-len(indent)), "\n") {
			b.WriteString(strings.TrimRight(indent+line, " ") + "\n")
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

func trimLines(s string) string {
	lines := strings.Split(s, "\n")
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

// wrap breaks lines between words, without the blanks that the library pads them with.
func wrap(s string, width int) string {
	lines := strings.Split(s, "\n")
	for i, line := range lines {
		// The library drops the indentation of a line that it breaks.
		body := strings.TrimLeft(line, " ")
		indent := line[:len(line)-len(body)]
		lines[i] = indent + strings.ReplaceAll(text.WrapSoft(body, width-len(indent)), "\n", "\n"+indent)
	}
	return trimLines(strings.Join(lines, "\n"))
}
