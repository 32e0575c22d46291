package command

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"partwright/theory/partwriting"
	"partwright/worker/report"
)

// tables prints findings to read: a heading and a table for each score.
type tables struct {
	w     io.Writer
	width int
	begun bool
	// catalog has the words of the language, words those around the findings.
	catalog *partwriting.Catalog
	words   *partwriting.TableWords
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
	fmt.Fprintln(t.w, wrap(t.heading(r), t.width))
	for _, n := range r.Notices {
		fmt.Fprintln(t.w, "  "+strings.ReplaceAll(wrap(t.words.Notice+" "+t.notice(&n), t.width-2), "\n", "\n  "))
	}
	if r.HandIn != nil && r.HandIn.Note != "" {
		fmt.Fprintln(t.w, wrap(r.HandIn.Note, t.width))
	}
	body := "  " + t.words.Nothing
	switch {
	case r.Pupil:
		body = t.forPupil(r, body)
	case len(r.Findings) > 0:
		body = t.render(r.Findings)
	}
	if len(r.Findings) > len(r.First) && !r.Pupil {
		for _, f := range r.First {
			body += "\n" + wrap(fmt.Sprintf("→ %d (%s): %s", f.Number, f.Place, f.Mend), t.width)
		}
	}
	if r.Grade != nil {
		body += "\n" + wrap(t.proposedMark(r.Grade), t.width)
	}
	_, err := fmt.Fprintln(t.w, body)
	return err
}

// forPupil is what to mend first, what is well done, and how much there is beside.
func (t *tables) forPupil(r *report.Report, nothing string) string {
	var lines []string
	if len(r.First) > 0 {
		lines = append(lines, t.words.MendFirst)
	} else if len(r.Findings) == 0 {
		lines = append(lines, nothing)
	}
	for _, f := range r.First {
		lines = append(lines, wrap(fmt.Sprintf("%d. %s: %s", f.Number, f.Place, f.Message), t.width), wrap("   → "+f.Mend, t.width))
	}
	if len(r.WellDone) > 0 {
		lines = append(lines, t.words.WellDone)
	}
	for _, praise := range r.WellDone {
		lines = append(lines, wrap("+ "+praise, t.width))
	}
	if more := len(r.Findings) - len(r.First); more > 0 {
		lines = append(lines, strings.ReplaceAll(t.words.More, "{count}", strconv.Itoa(more)))
	}
	return strings.Join(lines, "\n")
}

// proposedMark is the mark with what each phrase costs and what is well done.
func (t *tables) proposedMark(m *report.Grade) string {
	var b strings.Builder
	points := strings.NewReplacer("{earned}", m.Earned.String(), "{available}", m.Available.String()).Replace(t.words.Mark)
	fmt.Fprintf(&b, "%s: %s. %s", m.Rubric, points, m.Note)
	for _, p := range m.Phrases {
		if p.Lost != "0" {
			b.WriteString(" " + strings.NewReplacer("{measure}", p.Measure, "{lost}", p.Lost.String()).Replace(t.words.FromPhrase))
		}
	}
	for _, praise := range m.Praise {
		fmt.Fprintf(&b, " + %s.", praise)
	}
	return b.String()
}

func (t *tables) heading(r *report.Report) string {
	title := ""
	if r.Score.Title != "" {
		title = " “" + r.Score.Title + "”"
	}
	names := make([]string, 0, len(r.Score.Voices))
	for _, v := range r.Score.Voices {
		names = append(names, v.Name)
	}
	measures := t.words.OneMeasure
	if r.Score.Measures != 1 {
		measures = strings.ReplaceAll(t.words.Measures, "{count}", strconv.Itoa(r.Score.Measures))
	}
	style := strings.ReplaceAll(t.words.Style, "{style}", t.words.Term(r.Score.HarmonyStyle))
	return fmt.Sprintf("%s%s: %s, %s (%s, %s)", r.File, title, measures, strings.Join(names, " "), t.words.Term(r.Score.Layout), style)
}

func (t *tables) notice(n *report.Notice) string {
	where := ""
	if n.Part != "" {
		where += strings.ReplaceAll(t.words.InPart, "{part}", n.Part) + ", "
	}
	if n.Measure != "" {
		where += strings.ReplaceAll(t.words.InMeasure, "{measure}", n.Measure) + ", "
	}
	if n.Line > 0 {
		where += strings.ReplaceAll(t.words.OnLine, "{line}", strconv.Itoa(n.Line)) + ", "
	}
	return where + n.Message
}

func (t *tables) render(findings []report.Finding) string {
	w := t.words
	header := []string{"#", w.Measure, w.Beat, w.Voices, w.Severity, w.Rule, w.What}
	if t.width < narrow {
		header = []string{"#", w.Measure, w.Beat, w.Voices, w.Severity + ", " + w.Rule, w.What}
	}
	rows := make([][]string, len(findings))
	for i := range findings {
		f := &findings[i]
		beat := strings.Replace(strconv.FormatFloat(f.Beat, 'f', -1, 64), ".", t.catalog.DecimalMark, 1)
		rows[i] = []string{strconv.Itoa(f.Number), f.Measure, beat, strings.Join(f.Voices, " ")}
		severity := severitySigns[f.Severity] + " " + t.catalog.Severities[f.Severity]
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
