package command

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"partwright/worker/report"
)

// hindrance says what is in the way, which rules the least bad breaks where, and what
// opens the way.
func hindrance(r *report.Voicing) string {
	lines := []string{r.Obstacle, fmt.Sprintf("The least bad follows; rules broken: %d.", r.Broken)}
	if len(r.Breaks) > 0 {
		lines[1] = fmt.Sprintf("The least bad follows; rules broken: %s.", strings.Join(r.Breaks, ", "))
	}
	if r.Opens != "" {
		lines = append(lines, r.Opens)
	}
	return strings.Join(lines, "\n")
}

// voicingTable shows the voices as lines over the numerals, in systems as music is
// where the page is not wide enough for all chords.
func voicingTable(r *report.Voicing, width int) string {
	var b strings.Builder
	if len(r.Changed) > 0 {
		fmt.Fprintf(&b, "%s\n\n", wrap(strings.Join(r.Changed, "\n"), width))
	}
	if len(r.Notices) > 0 {
		fmt.Fprintf(&b, "%s\n\n", wrap(strings.Join(r.Notices, "\n"), width))
	}
	if r.Obstacle != "" {
		fmt.Fprintf(&b, "%s\n\n", wrap(hindrance(r), width))
	}
	for i := range r.Alternatives {
		a := &r.Alternatives[i]
		fmt.Fprintln(&b, wrap(fmt.Sprintf("Voicing %d: cost %.2f, upper voices move %s, %s, %s", i+1, a.Cost,
			count(a.Semitones, "semitone"), count(a.Faults, "fault"), count(a.Cautions, "caution")), width))
		if len(r.Alternatives) > 1 {
			fmt.Fprintln(&b, wrap(strings.Join(a.Character, "; "), width))
		}
		for chords := a.Chords; len(chords) > 0; {
			system := newSystem(r.Voices)
			n := 0
			for n < len(chords) && system.add(&chords[n], n == 0 || chords[n].Key != chords[n-1].Key, width) {
				n++
			}
			b.WriteString(system.render() + "\n")
			chords = chords[n:]
		}
		for _, f := range a.Findings {
			fmt.Fprintln(&b, wrap(fmt.Sprintf("  %s in measure %s, beat %s: %s", f.Severity, f.Measure, strconv.FormatFloat(f.Beat, 'g', 4, 64), f.Message), width))
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

// system is a row a voice, and one of numerals below them.
type system struct {
	rows  []table.Row
	width int // in columns
}

func newSystem(voices []string) *system {
	s := &system{width: 1}
	widest := 0
	for _, name := range append(voices[:len(voices):len(voices)], "") {
		s.rows = append(s.rows, table.Row{name})
		widest = max(widest, text.StringWidthWithoutEscSequences(name))
	}
	s.width += widest + 3
	return s
}

// add appends a chord unless the system would get too wide; the first always fits.
func (s *system) add(c *report.VoicedChord, named bool, width int) bool {
	column := append(c.Pitches[:len(c.Pitches):len(c.Pitches)], c.Numeral)
	for v, held := range c.Late {
		if held != "" {
			column[v] = held + " " + column[v]
		}
	}
	if named {
		column[len(c.Pitches)] = c.Key + ": " + c.Numeral
	}
	widest := 0
	for _, cell := range column {
		widest = max(widest, text.StringWidthWithoutEscSequences(cell))
	}
	if s.width+widest+3 > width && len(s.rows[0]) > 1 {
		return false
	}
	s.width += widest + 3
	for i, cell := range column {
		s.rows[i] = append(s.rows[i], cell)
	}
	return true
}

func (s *system) render() string {
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	voices := len(s.rows) - 1
	t.AppendRows(s.rows[:voices])
	t.AppendSeparator()
	t.AppendRow(s.rows[voices])
	return t.Render()
}
