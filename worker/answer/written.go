package answer

import "partwright/worker/report"

// Written is a report that another process has written: its line of JSON, which need
// not be read to be sent or kept.
type Written struct {
	// Suffix is that of its file, "" for none.
	Suffix string
	Text   []byte
	// Tally counts its findings.
	Tally []Tally
}

// Tally is how many findings of a rule and a severity there are.
type Tally struct {
	Rule, Severity string
	Count          int
}

// MarshalJSON returns the text.
func (w *Written) MarshalJSON() ([]byte, error) { return w.Text, nil }

// TallyOf counts the findings of a report that has some.
func TallyOf(said any) []Tally {
	switch r := said.(type) {
	case *Written:
		return r.Tally
	case *report.Report:
		at := map[Tally]int{}
		var all []Tally
		for i := range r.Findings {
			key := Tally{Rule: r.Findings[i].Rule, Severity: r.Findings[i].Severity}
			n, known := at[key]
			if !known {
				n = len(all)
				at[key], all = n, append(all, key)
			}
			all[n].Count++
		}
		return all
	}
	return nil
}

// IsMending tells the answer of a mending.
func (a *Answer) IsMending() bool { return suffixOf(a.Report) == mendingSuffix }

// Suffix is that of the file of the report, "" where it has none.
func (a *Answer) Suffix() string { return suffixOf(a.Report) }
