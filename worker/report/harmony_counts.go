package report

import "encoding/json"

// MarshalJSON returns the counts as rows of what, first, second and count, so that
// those of one score can be kept and added up later.
func (s *HarmonyStatistics) MarshalJSON() ([]byte, error) {
	rows := make([][4]any, 0, len(s.counts))
	for row, n := range s.counts {
		rows = append(rows, [4]any{row.what, row.first, row.second, n})
	}
	return json.Marshal(rows)
}

// UnmarshalJSON adds counts that [HarmonyStatistics.MarshalJSON] wrote to those
// that are there.
func (s *HarmonyStatistics) UnmarshalJSON(data []byte) error {
	var rows [][]json.RawMessage
	if err := json.Unmarshal(data, &rows); err != nil {
		return err
	}
	if s.counts == nil {
		s.counts = map[statistic]int{}
	}
	for _, columns := range rows {
		var row statistic
		var n int
		for i, into := range []any{&row.what, &row.first, &row.second, &n} {
			if i >= len(columns) {
				break
			}
			if err := json.Unmarshal(columns[i], into); err != nil {
				return err
			}
		}
		s.counts[row] += n
	}
	return nil
}

// Merge adds the counts of others.
func (s *HarmonyStatistics) Merge(others *HarmonyStatistics) {
	if s.counts == nil {
		s.counts = map[statistic]int{}
	}
	for row, n := range others.counts {
		s.counts[row] += n
	}
}
