package queries

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// report is what is needed of one, by the names in worker/README.md.
type report struct {
	File  string
	Score struct {
		Measures int
	}
	Identity struct{ Shape string }
	Findings []struct {
		place
		Rule   string
		Voices []string
		Key    string
	}
	Analysis struct {
		Harmonies []struct {
			place
			Key, Numeral string
		}
		Cadences []struct {
			place
			Kind, Key, From, To string
		}
	}
}

type place struct {
	Measure string
	Beat    float64
	Onset   string
}

// counted is how often something is there.
type counted struct {
	what  string
	count int
}

// commonest are the most frequent, those that are as frequent by their names.
func commonest(of map[string]int) (all []counted) {
	for what, n := range of {
		all = append(all, counted{what, n})
	}
	slices.SortFunc(all, func(a, b counted) int { return cmp.Or(cmp.Compare(b.count, a.count), cmp.Compare(a.what, b.what)) })
	return all
}

// byReports finds the answers in the reports, in the order of the queries.
func byReports(t *testing.T, dir string) map[string][]string {
	t.Helper()
	want := map[string][]string{}
	approaches, shapes := map[string]int{}, map[string]int{}
	rules, measures := map[string]map[string]float64{}, map[string]float64{}
	for _, name := range collections {
		paths, err := filepath.Glob(filepath.Join(dir, "answers-"+name, "*.findings.json"))
		if err != nil || len(paths) == 0 {
			t.Fatalf("%d reports of %s, %v", len(paths), name, err)
		}
		rules[name] = map[string]float64{}
		for _, path := range paths {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			var r report
			if err := json.Unmarshal(text, &r); err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			measures[name] += float64(r.Score.Measures)
			if r.Identity.Shape != "" {
				shapes[r.Identity.Shape]++
			}
			for i := range r.Findings {
				f := &r.Findings[i]
				rules[name][f.Rule]++
				if f.Rule == "parallel-fifths" && slices.Equal(f.Voices, []string{"S", "B"}) && strings.HasSuffix(f.Key, " minor") {
					want["fifths"] = append(want["fifths"], row(name, &r, &f.place, f.Key))
				}
			}
			r.harmonies(t, name, approaches, want)
		}
	}
	for i, c := range commonest(approaches) {
		if i == 10 {
			break
		}
		want["approaches"] = append(want["approaches"], fmt.Sprintf("%s|%d", c.what, c.count))
	}
	for _, c := range commonest(shapes) {
		if c.count > 1 {
			want["copies"] = append(want["copies"], fmt.Sprintf("%s|%d", c.what, c.count))
		}
	}
	want["differs"] = differs(rules, measures)
	return want
}

func row(batch string, r *report, p *place, key string) string {
	return fmt.Sprintf("%s|%s|%s|%v|%s", batch, r.File, p.Measure, p.Beat, key)
}

// harmonies finds Neapolitan sixths, and what goes into deceptive cadences.
func (r *report) harmonies(t *testing.T, batch string, approaches map[string]int, want map[string][]string) {
	t.Helper()
	all := r.Analysis.Harmonies
	for i := range all {
		if all[i].Numeral == "N6" {
			want["neapolitans"] = append(want["neapolitans"], row(batch, r, &all[i].place, all[i].Key))
		}
	}
	number, err := strconv.Atoi(strings.TrimSuffix(filepath.Base(r.File), ".musicxml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.Analysis.Cadences {
		if c.Kind != "DC" {
			continue
		}
		// The last harmony is that which begins at the cadence; the formula goes back to the
		// one that it says it comes from, and what stands before that in the same key leads
		// into it.
		at := len(all) - 1
		for at >= 0 && all[at].Onset != c.Onset {
			at--
		}
		from := at - 1
		for from > 0 && all[from].Numeral != c.From {
			from--
		}
		before := ""
		if from >= 1 && all[from-1].Key == c.Key {
			before = all[from-1].Numeral
		}
		approaches[fmt.Sprintf("%d|%s|%s|%s", 1700+10*(number%7), before, c.From, c.To)]++
	}
}

// differs is the rule whose findings in 1,000 measures differ most between the collections.
func differs(rules map[string]map[string]float64, measures map[string]float64) []string {
	a, b := collections[0], collections[1]
	most, best := -1.0, ""
	for rule, n := range rules[a] {
		one, other := 1000*n/measures[a], 1000*rules[b][rule]/measures[b]
		by := math.Abs(one - other)
		if by > most || by == most && rule < best {
			most, best = by, rule
		}
	}
	// A rule that only the second knows counts as well.
	for rule, n := range rules[b] {
		if other := 1000 * n / measures[b]; rules[a][rule] == 0 && (other > most || other == most && rule < best) {
			most, best = other, rule
		}
	}
	return []string{fmt.Sprintf("%s|%v|%v", best, math.Round(1000*rules[a][best]/measures[a]), math.Round(1000*rules[b][best]/measures[b]))}
}
