package worker

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"slices"
	"strconv"

	"partwright/theory/harmony"
)

// HarmonyStatistics counts what analyses say, over as many scores as are added.
// The zero value is empty.
type HarmonyStatistics struct {
	counts map[statistic]int
}

// statistic is one thing that is counted.
type statistic struct{ what, first, second string }

// Add counts one analysis: its numerals and their successions within a key and a
// phrase, by mode, the keys and changes of key, cadences and nonchord tones.
func (s *HarmonyStatistics) Add(a *harmony.Analysis) {
	if s.counts == nil {
		s.counts = map[statistic]int{}
	}
	ends := map[int]bool{}
	for _, p := range a.Phrases {
		ends[p.EndMoment] = true
	}
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		s.counts[statistic{"numeral", modal(h.Reading), ""}]++
		if i == 0 || ends[a.Harmonies[i-1].EndMoment] {
			continue
		}
		if before := &a.Harmonies[i-1]; before.Key == h.Key {
			s.counts[statistic{"succession", modal(before.Reading), modal(h.Reading)}]++
		}
	}
	for i, k := range a.Keys {
		s.counts[statistic{"key", k.Key.String(), ""}]++
		if i > 0 {
			s.counts[statistic{"modulation", a.Keys[i-1].Key.String(), k.Key.String()}]++
		}
	}
	for _, c := range a.Cadences {
		s.counts[statistic{"cadence", cmp.Or(c.Kind.String(), "none"), ""}]++
	}
	for _, notes := range a.Notes {
		for _, n := range notes {
			s.counts[statistic{"note", n.Class.String(), n.Figures}]++
		}
	}
}

// modal is a numeral with the mode it stands in: "major V7".
func modal(r harmony.Reading) string { return r.Key.Mode.String() + " " + r.Numeral.Text(r.Key.Mode) }

// CSV returns the counts (RFC 4180, lines end in LF), the greatest first within
// each kind:
//
//	what    numeral, succession, key, modulation, cadence or note
//	first   the numeral with its mode, the key, the kind of cadence, the class
//	second  what it goes to; the figures of a suspension
//	count   how often
func (s *HarmonyStatistics) CSV() ([]byte, error) {
	rows := make([]statistic, 0, len(s.counts))
	for row := range s.counts {
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b statistic) int {
		return cmp.Or(cmp.Compare(a.what, b.what), cmp.Compare(s.counts[b], s.counts[a]),
			cmp.Compare(a.first, b.first), cmp.Compare(a.second, b.second))
	})
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	if err := out.Write([]string{"what", "first", "second", "count"}); err != nil {
		return nil, err
	}
	for _, row := range rows {
		if err := out.Write([]string{row.what, row.first, row.second, strconv.Itoa(s.counts[row])}); err != nil {
			return nil, err
		}
	}
	out.Flush()
	return b.Bytes(), out.Error()
}
