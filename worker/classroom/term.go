package classroom

import (
	"cmp"
	"slices"
)

// Series is how a class has done over several assignments, in the order of their closing.
type Series struct {
	Assignments []string `json:"assignments"`
	// Means are the mean marks as shares of what there was to get.
	Means []float64 `json:"means"`
	Rules []Course  `json:"rules"`
}

// Course is how many pupils have broken a rule, from assignment to assignment.
type Course struct {
	Rule string `json:"rule"`
	Name string `json:"name"`
	// Shares are of those who handed in, 0 to 1.
	Shares []float64 `json:"shares"`
	// Learned is set where at least a quarter broke it once, and at most a tenth did in
	// the last assignment; our own measure.
	Learned bool `json:"learned"`
}

const (
	onceWidespread = 0.25
	nowRare        = 0.1
)

// Over makes the series of reports.
func Over(reports []*Report) *Series {
	reports = slices.Clone(reports)
	slices.SortStableFunc(reports, func(a, b *Report) int { return a.Closes.Compare(b.Closes) })
	s := &Series{Assignments: []string{}, Means: []float64{}, Rules: []Course{}}
	courses := map[string]*Course{}
	for n, r := range reports {
		s.Assignments = append(s.Assignments, r.Title)
		mean := 0.0
		if r.Marks.Available > 0 {
			mean = 2 * r.Marks.Mean / float64(r.Marks.Available)
		}
		s.Means = append(s.Means, mean)
		for i := range r.Rules {
			rule := &r.Rules[i]
			c := courses[rule.Rule]
			if c == nil {
				c = &Course{Rule: rule.Rule, Name: rule.Name, Shares: make([]float64, len(reports))}
				courses[rule.Rule] = c
			}
			if r.HandedIn > 0 {
				c.Shares[n] = float64(len(rule.Pupils)) / float64(r.HandedIn)
			}
		}
	}
	for _, c := range courses {
		c.Learned = slices.Max(c.Shares) >= onceWidespread && c.Shares[len(c.Shares)-1] <= nowRare
		s.Rules = append(s.Rules, *c)
	}
	slices.SortFunc(s.Rules, func(a, b Course) int {
		return cmp.Or(cmp.Compare(slices.Max(b.Shares), slices.Max(a.Shares)), cmp.Compare(a.Rule, b.Rule))
	})
	return s
}
