package report

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
)

// HarmonyStatistics counts what analyses say, over as many scores as are added.
// The zero value is empty.
type HarmonyStatistics struct {
	counts map[statistic]int
}

// scoresCounted is the statistic of the scores themselves.
var scoresCounted = statistic{what: "score"}

// statistic is one thing that is counted.
type statistic struct{ what, first, second string }

// Add counts one analysis: its numerals and their successions within a key and a
// phrase, by mode, the keys and changes of key, cadences and nonchord tones.
func (s *HarmonyStatistics) Add(a *Analysis) {
	if s.counts == nil {
		s.counts = map[statistic]int{}
	}
	s.counts[scoresCounted]++
	ends := map[string]bool{}
	for i := range a.Phrases {
		ends[a.Phrases[i].End] = true
	}
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		s.counts[statistic{"numeral", modal(h), ""}]++
		if i == 0 {
			s.counts[statistic{"key", h.Key, ""}]++
			continue
		}
		before := &a.Harmonies[i-1]
		if before.Key != h.Key {
			s.counts[statistic{"key", h.Key, ""}]++
			s.counts[statistic{"modulation", before.Key, h.Key}]++
		} else if !ends[before.End] {
			s.counts[statistic{"succession", modal(before), modal(h)}]++
		}
	}
	for i := range a.Cadences {
		s.counts[statistic{"cadence", cmp.Or(a.Cadences[i].Kind, "none"), ""}]++
	}
	for i := range a.Notes {
		s.counts[statistic{"note", a.Notes[i].Class, a.Notes[i].Figures}]++
	}
}

// modal is a numeral with the mode it stands in: "major V7".
func modal(h *Harmony) string {
	return h.Key[strings.LastIndexByte(h.Key, ' ')+1:] + " " + h.Numeral
}

// Statistics is what the analyses of many scores come to.
type Statistics struct {
	// Scores is how many were counted.
	Scores int              `json:"scores"`
	Counts []StatisticCount `json:"counts"`
}

// StatisticCount is how often one thing was met.
type StatisticCount struct {
	// What is numeral, succession, key, modulation, cadence or note.
	What string `json:"what"`
	// First is the numeral with its mode, the key, the kind of cadence or the
	// class of note; Second what it goes to, or the figures of a suspension.
	First  string `json:"first"`
	Second string `json:"second,omitempty"`
	Count  int    `json:"count"`
}

// Report returns the counts, the greatest first within each kind.
func (s *HarmonyStatistics) Report() *Statistics {
	r := &Statistics{Scores: s.counts[scoresCounted], Counts: make([]StatisticCount, 0, len(s.counts))}
	for row, count := range s.counts {
		if row == scoresCounted {
			continue
		}
		r.Counts = append(r.Counts, StatisticCount{row.what, row.first, row.second, count})
	}
	slices.SortFunc(r.Counts, func(a, b StatisticCount) int {
		return cmp.Or(cmp.Compare(a.What, b.What), cmp.Compare(b.Count, a.Count),
			cmp.Compare(a.First, b.First), cmp.Compare(a.Second, b.Second))
	})
	return r
}

// JSON returns the counts as indented JSON, with a line feed at the end.
func (s *HarmonyStatistics) JSON() ([]byte, error) {
	text, err := indented(s.Report())
	return []byte(text + "\n"), err
}

// CSV returns the counts (RFC 4180, lines end in LF); the columns are the fields
// of [StatisticCount].
func (s *HarmonyStatistics) CSV() ([]byte, error) {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	if err := out.Write([]string{"what", "first", "second", "count"}); err != nil {
		return nil, err
	}
	for _, row := range s.Report().Counts {
		if err := out.Write([]string{row.What, row.First, row.Second, strconv.Itoa(row.Count)}); err != nil {
			return nil, err
		}
	}
	out.Flush()
	return b.Bytes(), out.Error()
}
