package worker

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"partwright/theory/voicing"
	"partwright/worker/report"
)

// costs says what a voicing costs and, charge by charge, why not the same as the
// first one.
func costs(s *voicing.Solution, e, first *voicing.Explanation) string {
	text := fmt.Sprintf("cost %.2f", report.Semitones(s.Cost))
	if why := worded(compared(e, first)); why != "" {
		text += ": " + why
	}
	return text
}

// compared lists by term how much more a voicing costs than another one.
func compared(e, other *voicing.Explanation) []voicing.Charge {
	var out []voicing.Charge
	sum := func(charges []voicing.Charge, sign voicing.Cost) {
		for _, c := range charges {
			i := slices.IndexFunc(out, func(o voicing.Charge) bool { return o.Term == c.Term })
			if i < 0 {
				i, out = len(out), append(out, voicing.Charge{Term: c.Term})
			}
			out[i].Cost += sign * c.Cost
		}
	}
	sum(e.Opening, 1)
	sum(other.Opening, -1)
	for i := range e.Changes {
		sum(e.Changes[i].Charges, 1)
	}
	for i := range other.Changes {
		sum(other.Changes[i].Charges, -1)
	}
	return out
}

// wordedTerms is how many charges a line names.
const wordedTerms = 3

// worded names the weightiest charges: "leap +1.2, arch -0.3".
func worded(charges []voicing.Charge) string {
	charges = slices.DeleteFunc(slices.Clone(charges), func(c voicing.Charge) bool { return c.Cost == 0 })
	slices.SortStableFunc(charges, func(a, b voicing.Charge) int { return cmp.Compare(max(b.Cost, -b.Cost), max(a.Cost, -a.Cost)) })
	var words []string
	for _, c := range charges[:min(len(charges), wordedTerms)] {
		words = append(words, fmt.Sprintf("%s %+g", c.Term, report.Semitones(c.Cost)))
	}
	return strings.Join(words, ", ")
}
