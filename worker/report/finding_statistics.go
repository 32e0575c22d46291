package report

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"slices"
	"strconv"
)

// FindingStatistics counts findings by rule over as many scores as are added. The
// zero value is empty.
type FindingStatistics struct {
	scores, failed int
	rules          map[ruleAt]*ruleCount
}

type ruleAt struct{ rule, family, severity string }

type ruleCount struct{ findings, scores int }

// Add counts the findings of one score.
func (s *FindingStatistics) Add(r *Report) {
	if s.rules == nil {
		s.rules = map[ruleAt]*ruleCount{}
	}
	s.scores++
	seen := map[ruleAt]bool{}
	for i := range r.Findings {
		f := &r.Findings[i]
		at := ruleAt{f.Rule, f.Family, f.Severity}
		if s.rules[at] == nil {
			s.rules[at] = &ruleCount{}
		}
		s.rules[at].findings++
		if !seen[at] {
			seen[at] = true
			s.rules[at].scores++
		}
	}
}

// AddFailure counts a score that could not be checked.
func (s *FindingStatistics) AddFailure() { s.failed++ }

// CSV returns one row for each rule and severity (RFC 4180, lines end in LF), the
// commonest first, and two that count scores:
//
//	rule      the rule's id; "(checked)" and "(failed)" in the rows of scores
//	family    of the rule
//	severity  fault, caution or remark
//	findings  how many there are
//	scores    in how many scores
func (s *FindingStatistics) CSV() ([]byte, error) {
	rows := make([]ruleAt, 0, len(s.rules))
	for at := range s.rules {
		rows = append(rows, at)
	}
	slices.SortFunc(rows, func(a, b ruleAt) int {
		return cmp.Or(cmp.Compare(s.rules[b].findings, s.rules[a].findings), cmp.Compare(a.rule, b.rule), cmp.Compare(a.severity, b.severity))
	})
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	lines := [][]string{
		{"rule", "family", "severity", "findings", "scores"},
		{"(checked)", "", "", "", strconv.Itoa(s.scores)},
		{"(failed)", "", "", "", strconv.Itoa(s.failed)},
	}
	for _, at := range rows {
		n := s.rules[at]
		lines = append(lines, []string{at.rule, at.family, at.severity, strconv.Itoa(n.findings), strconv.Itoa(n.scores)})
	}
	err := out.WriteAll(lines)
	return b.Bytes(), err
}
