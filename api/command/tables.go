package command

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"partwright/worker/report"
)

// tables prints findings to read: a heading and a table for each score.
type tables struct {
	w     io.Writer
	width int
	begun bool
}

// narrow is the width below which rule and severity share a column.
const narrow = 100

// severitySigns stand beside the word, so that the eye finds the faults.
var severitySigns = map[string]string{"fault": "✗", "caution": "!", "remark": "·"}

// Report implements [report.Encoder] for reports of checks.
func (t *tables) Report(v any) error {
	r, ok := v.(*report.Report)
	if !ok {
		return nil
	}
	if t.begun {
		fmt.Fprintln(t.w)
	}
	t.begun = true
	fmt.Fprintln(t.w, wrap(heading(r), t.width))
	for _, n := range r.Notices {
		fmt.Fprintln(t.w, "  "+strings.ReplaceAll(wrap("note: "+notice(&n), t.width-2), "\n", "\n  "))
	}
	body := "  nothing found"
	if len(r.Findings) > 0 {
		body = t.render(r.Findings)
	}
	if len(r.Findings) > len(r.First) {
		for _, f := range r.First {
			body += "\n" + wrap(fmt.Sprintf("→ %d (%s): %s", f.Number, f.Place, f.Mend), t.width)
		}
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
	return fmt.Sprintf("%s%s: %s, %s (%s, %s style)", r.File, title,
		count(r.Score.Measures, "measure"), strings.Join(names, " "), r.Score.Layout, r.Score.HarmonyStyle)
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

func (t *tables) Failure(*report.Failure) error { return nil }
func (t *tables) Close() error                  { return nil }
