package collection

import (
	"encoding/json"
	"strings"

	"partwright/worker/report"
)

// Rows are those of one score.
type Rows struct {
	Score     Score
	Findings  []Finding
	Harmonies []Harmony
	Cadences  []Cadence
}

// RowsOf takes the rows from a report. Without an analysis there are no harmonies and
// cadences.
func RowsOf(batch string, number int64, r *report.Report) Rows {
	which := of{batch, number, r.File}
	all := Rows{Score: scoreRow(which, r)}
	for i := range r.Findings {
		all.Findings = append(all.Findings, findingRow(which, &r.Findings[i]))
	}
	if r.Analysis == nil {
		return all
	}
	for i := range r.Analysis.Harmonies {
		all.Harmonies = append(all.Harmonies, harmonyRow(which, r.Analysis.Harmonies, i))
	}
	for i := range r.Analysis.Cadences {
		all.Cadences = append(all.Cadences, cadenceRow(which, r.Analysis, &r.Analysis.Cadences[i]))
	}
	return all
}

func scoreRow(which of, r *report.Report) Score {
	s := &r.Score
	row := Score{
		of: which, Outcome: "checked", Title: s.Title, Composer: s.Composer, Rights: s.Rights,
		HomeKey: s.Key, HomeMode: modeOf(s.Key), Layout: s.Layout,
		Parts: int32(s.Parts), Voices: int32(len(s.Voices)), Measures: int32(s.Measures), Notes: int32(s.Notes), Quarters: quarters(s.Quarters),
		Faults: int32(r.Summary.Faults), Cautions: int32(r.Summary.Cautions), Remarks: int32(r.Summary.Remarks),
		Engine: r.Engine, RuleSet: r.RuleSet, HarmonyStyle: s.HarmonyStyle, CommonRule: commonest(r.Summary.ByRule),
	}
	if r.Texture != nil {
		row.Texture = r.Texture.Kind
	}
	if r.HandIn != nil {
		row.Complete, row.Problems = r.HandIn.Complete, kinds(r.HandIn.Problems)
	}
	if g := r.Grade; g != nil {
		row.Earned, row.Available = points(g.Earned), points(g.Available)
	}
	if id := r.Identity; id != nil {
		row.SHA256, row.Music, row.Shape = id.SHA256, id.Music, id.Shape
	}
	return row
}

// kinds are those of problems, with a blank between them.
func kinds(problems []report.Problem) string {
	all := make([]string, 0, len(problems))
	for _, p := range problems {
		all = append(all, p.Kind)
	}
	return strings.Join(all, " ")
}

// commonest is the rule with the most findings, the first by name of equals.
func commonest(byRule map[string]int) (rule string) {
	for name, n := range byRule {
		if n > byRule[rule] || n == byRule[rule] && name < rule {
			rule = name
		}
	}
	return rule
}

// points are those of a mark, nil where it is no number.
func points(n json.Number) *float64 {
	value, err := n.Float64()
	if err != nil {
		return nil
	}
	return &value
}

// failureRow is the row of a score that has no answer.
func failureRow(batch string, number int64, engine string, f *report.Failure) Score {
	return Score{of: of{batch, number, f.File}, Outcome: "failed", Problem: f.Code, Engine: engine}
}

func findingRow(which of, f *report.Finding) Finding {
	pitches, line := f.Sounding()
	return Finding{
		of: which, Number: int32(f.Number), Follows: int32(f.Follows), Rule: f.Rule, Family: f.Family, Severity: f.Severity,
		at:     at{f.Measure, int32(f.MeasureIndex), f.Beat, quarters(f.Onset)},
		Voices: strings.Join(f.Voices, " "), in: keyOf(f.Key), Numeral: f.Numeral, Message: f.Message,
		Pitches: pitches, Line: int32(line),
	}
}

func harmonyRow(which of, harmonies []report.Harmony, i int) Harmony {
	h := &harmonies[i]
	row := Harmony{
		of: which, Number: int32(i + 1), at: placed(&h.Place), End: quarters(h.End), in: keyOf(h.Key),
		Numeral: h.Numeral, Symbol: h.Symbol, Root: h.Root, Bass: h.Bass, Quality: h.Quality, Inversion: int32(h.Inversion),
		Pivot: h.Pivot, Confidence: h.Confidence,
	}
	if i > 0 && harmonies[i-1].Key == h.Key {
		row.Before = harmonies[i-1].Numeral
	}
	if i+1 < len(harmonies) && harmonies[i+1].Key == h.Key {
		row.After = harmonies[i+1].Numeral
	}
	return row
}

func cadenceRow(which of, a *report.Analysis, c *report.Cadence) Cadence {
	return Cadence{
		of: which, at: placed(&c.Place), Kind: c.Kind, in: keyOf(c.Key), Approach: approach(a, c), From: c.From, To: c.To,
		Soprano: int32(c.Soprano), Phrygian: c.Phrygian, Picardy: c.Picardy,
	}
}

// approach is the numeral before the formula of a cadence, empty where it begins the
// score or stands in another key.
func approach(a *report.Analysis, c *report.Cadence) string {
	final := -1
	for i := range a.Harmonies {
		if a.Harmonies[i].Onset == c.Onset {
			final = i
		}
	}
	formula := final - 1
	for formula > 0 && a.Harmonies[formula].Numeral != c.From {
		formula--
	}
	if formula < 1 || a.Harmonies[formula-1].Key != c.Key {
		return ""
	}
	return a.Harmonies[formula-1].Numeral
}

func placed(p *report.Place) at {
	return at{p.Measure, int32(p.MeasureIndex), p.Beat, quarters(p.Onset)}
}

func keyOf(key string) in { return in{key, modeOf(key)} }

// modeOf is the last word of a key's name.
func modeOf(key string) string { return key[strings.LastIndexByte(key, ' ')+1:] }

// quarters are exact quarter notes as a number, 0 for none.
func quarters(exact string) float64 {
	q, _ := report.Decimal(exact)
	return q
}
