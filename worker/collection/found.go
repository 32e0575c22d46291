package collection

import (
	"strings"

	"partwright/worker/store"
)

// Found is what can be asked of a score, as a database keeps it.
func (r *Rows) Found() *store.Found {
	row := &r.Score
	f := &store.Found{Score: store.FoundScore{
		FoundIn: store.FoundIn{Batch: row.Batch, Number: row.Score, File: row.File, Title: row.Title, Composer: row.Composer},
		Outcome: row.Outcome, Problem: row.Problem, Key: row.HomeKey, Mode: row.HomeMode, Texture: row.Texture,
		Voices: int64(row.Voices), Measures: int64(row.Measures), Notes: int64(row.Notes),
		Faults: int64(row.Faults), Cautions: int64(row.Cautions), Remarks: int64(row.Remarks),
		Shape: row.Shape, Engine: row.Engine, RuleSet: row.RuleSet,
	}}
	for i := range r.Findings {
		x := &r.Findings[i]
		f.Findings = append(f.Findings, store.FoundFinding{
			Position: int64(x.Number), Rule: x.Rule, Family: x.Family, Severity: x.Severity, Voices: x.Voices,
			Key: x.Key, Mode: x.Mode, Numeral: x.Numeral, Measure: x.Measure, Beat: x.Beat,
		})
	}
	ends := map[float64]*Cadence{}
	for i := range r.Cadences {
		ends[r.Cadences[i].Onset] = &r.Cadences[i]
	}
	for i := range r.Harmonies {
		h := &r.Harmonies[i]
		row := store.FoundHarmony{Position: int64(h.Number), Key: h.Key, Mode: h.Mode, Numeral: h.Numeral, Measure: h.Measure, Beat: h.Beat}
		for j := i - 1; j >= 0 && j > i-store.MostInSuccession && r.Harmonies[j].Key == h.Key; j-- {
			row.Before = append([]string{r.Harmonies[j].Numeral}, row.Before...)
		}
		if c := ends[h.Onset]; c != nil {
			row.Cadence, row.Formula = c.Kind, strings.TrimSpace(c.Approach+" "+c.From+" "+c.To)
		}
		f.Harmonies = append(f.Harmonies, row)
	}
	return f
}
