package partwriting

import "sort"

// First returns the indexes of the few findings to mend first: the gravest, by all
// that follows from them, then those from which most follows, then in reading order.
// What follows from another finding goes with it, and what is excused or only a remark
// can wait.
func First(findings []Finding, most int) []int {
	roots := make([]int, len(findings)) // the index of the first cause
	gravest := make([]Severity, len(findings))
	company := make([]int, len(findings))
	var first []int
	for i := range findings {
		f := &findings[i]
		if roots[i] = i; f.Follows > 0 {
			roots[i] = roots[f.Follows-1]
		}
		root := roots[i]
		gravest[root] = max(gravest[root], f.Severity)
		company[root]++
		if root == i && f.Licence == "" {
			first = append(first, i)
		}
	}
	sort.SliceStable(first, func(a, b int) bool {
		i, j := first[a], first[b]
		if gravest[i] != gravest[j] {
			return gravest[i] > gravest[j]
		}
		return company[i] > company[j]
	})
	for n, i := range first {
		if n == most || gravest[i] < Caution {
			return first[:n]
		}
	}
	return first
}
