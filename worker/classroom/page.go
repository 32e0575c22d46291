package classroom

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"
)

//go:embed page.html
var pageText string

var pageTemplate = template.Must(template.New("class").Parse(pageText))

// Page writes the report as a page of HTML that stands alone and prints.
func (r *Report) Page() ([]byte, error) {
	w, err := wordsOf(r.Language)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = pageTemplate.Execute(&out, map[string]any{"R": r, "W": w.said, "View": &view{r, w}})
	if err != nil {
		return nil, fmt.Errorf("writing the report of a class: %w", err)
	}
	return out.Bytes(), nil
}

// view is what the page asks of a report.
type view struct {
	*Report
	words *words
}

// Bar is one bar of a plot: a link to the hand-ins behind it.
type Bar struct {
	Label string
	Value int
	// Percent is its length, of the longest bar; Link is the id of what it leads to, ""
	// for nothing.
	Percent float64
	Link    string
}

// scaled gives bars their length.
func scaled(bars []Bar) []Bar {
	most := 1
	for i := range bars {
		most = max(most, bars[i].Value)
	}
	for i := range bars {
		bars[i].Percent = 100 * float64(bars[i].Value) / float64(most)
	}
	return bars
}

// MarkBars count marks by tenths of what there is to get.
func (v *view) MarkBars() []Bar {
	var bars []Bar
	top := v.Marks.Available
	for i, n := range v.Marks.Tenths {
		bars = append(bars, Bar{Label: share(Points(i), 10, top).String() + "–" + share(Points(i+1), 10, top).String(), Value: n})
	}
	return scaled(bars)
}

// RuleBars count pupils by rule.
func (v *view) RuleBars() []Bar {
	var bars []Bar
	for i := range v.Rules {
		r := &v.Rules[i]
		bars = append(bars, Bar{Label: r.Name, Value: len(r.Pupils), Link: "rule-" + r.Rule})
	}
	return scaled(bars)
}

// MeasureBars count findings by measure.
func (v *view) MeasureBars() []Bar {
	var bars []Bar
	for i := range v.Measures {
		m := &v.Measures[i]
		bars = append(bars, Bar{Label: v.words.say("measure") + " " + m.Measure, Value: m.Findings, Link: fmt.Sprint("measure-", m.MeasureIndex)})
	}
	return scaled(bars)
}

// AttemptBars count pupils by how often they handed in.
func (v *view) AttemptBars() []Bar {
	var bars []Bar
	for i, n := range v.Attempts {
		bars = append(bars, Bar{Label: fmt.Sprint(i + 1), Value: n})
	}
	return scaled(bars)
}

// Behind joins references.
func (v *view) Behind(pupils []string) string { return strings.Join(pupils, ", ") }

// StateName is a state in words.
func (v *view) StateName(s State) string { return v.words.say("state-" + string(s)) }

// Pair says one likeness in a sentence.
func (v *view) Pair(l Likeness) string {
	const percent = 100
	text := v.words.say("alike-pair", "first", l.References[0], "second", l.References[1],
		"alike", fmt.Sprintf("%.0f", percent*l.Alike), "explained", fmt.Sprintf("%.0f", percent*l.Explained), "faults", l.Faults)
	if l.Transposed != 0 {
		text += "; " + v.words.say("alike-transposed", "semitones", l.Transposed)
	}
	return text + "."
}

// Text is a mark, or nothing.
func (v *view) Text(p *Points) string { return textOf(p) }

// Decimal is a mean or a median.
func (v *view) Decimal(f float64) string { return fmt.Sprintf("%.1f", f) }
