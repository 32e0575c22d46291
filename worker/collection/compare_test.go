package collection_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"partwright/worker"
	"partwright/worker/collection"
	"partwright/worker/report"
	"partwright/worker/request"
)

// folder is one with reports, by the names of scores.
func folder(t *testing.T, reports map[string]*report.Report) fs.FS {
	t.Helper()
	all := fstest.MapFS{"tables/test/a/scores.parquet": {}, "one.marked.musicxml": {}}
	for name, r := range reports {
		r.File = name + ".musicxml"
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		all[name+".findings.json"] = &fstest.MapFile{Data: text}
	}
	return all
}

// said is a report with findings, each "RULE ONSET VOICES SEVERITY [NUMERAL [MESSAGE]]".
func said(findings ...string) *report.Report {
	r := &report.Report{Engine: "1", RuleSet: "own"}
	for _, text := range findings {
		f := strings.Fields(text + " V same")
		r.Findings = append(r.Findings, report.Finding{Rule: f[0], Onset: f[1], Voices: strings.Split(f[2], "-"), Severity: f[3], Numeral: f[4], Message: f[5]})
	}
	return r
}

func TestDifferences(t *testing.T) {
	for _, c := range []struct {
		why           string
		before, after []string
		want          string // KIND RULE BEFORE>AFTER, in order
		reworded      int
	}{
		{"the same", []string{"a 0 S fault", "b 1 A remark"}, []string{"b 1 A remark", "a 0 S fault"}, "", 0},
		{"one more", []string{"a 0 S fault"}, []string{"a 0 S fault", "b 0 S caution"}, "new b >caution", 0},
		{"one less", []string{"a 0 S fault", "b 0 S caution"}, []string{"a 0 S fault"}, "gone b caution>", 0},
		{"graver", []string{"a 0 S caution"}, []string{"a 0 S fault"}, "changed a caution>fault", 0},
		{"another harmony", []string{"a 0 S fault V"}, []string{"a 0 S fault IV"}, "changed a fault>fault", 0},
		{"another place", []string{"a 0 S fault"}, []string{"a 1 S fault"}, "new a >fault, gone a fault>", 0},
		{"other voices", []string{"a 0 S-B fault"}, []string{"a 0 S-T fault"}, "new a >fault, gone a fault>", 0},
		{"other words", []string{"a 0 S fault V was"}, []string{"a 0 S fault V is"}, "", 1},
		{"two alike, one left", []string{"a 0 S fault", "a 0 S fault"}, []string{"a 0 S fault"}, "gone a fault>", 0},
		{"one alike, one more", []string{"a 0 S fault"}, []string{"a 0 S fault", "a 0 S fault"}, "new a >fault", 0},
	} {
		t.Run(c.why, func(t *testing.T) {
			var got []string
			all, err := collection.Compare(t.Context(), folder(t, map[string]*report.Report{"x": said(c.before...)}), folder(t, map[string]*report.Report{"x": said(c.after...)}),
				func(d *collection.Difference) error {
					got = append(got, d.Kind+" "+d.Rule+" "+d.Before+">"+d.After)
					return nil
				})
			if err != nil {
				t.Fatal(err)
			}
			if strings.Join(got, ", ") != c.want || all.Reworded != c.reworded {
				t.Errorf("%q and %d reworded, want %q and %d", got, all.Reworded, c.want, c.reworded)
			}
			if same := c.want == ""; (all.Same == 1) != same || (all.Differing == 1) == same {
				t.Errorf("%d the same and %d not", all.Same, all.Differing)
			}
		})
	}
}

func TestScoresOnOneSideAreCounted(t *testing.T) {
	other := said("a 0 S fault")
	other.Engine = "2"
	c, err := collection.Compare(t.Context(),
		folder(t, map[string]*report.Report{"only/before": said(), "x": said(), "y": said(), "z": said("a 0 S fault", "b 0 S fault")}),
		folder(t, map[string]*report.Report{"x": said(), "y": other, "z": said("a 1 S fault", "b 1 S fault"), "after": said(), "too": said()}),
		func(*collection.Difference) error { return nil })
	if err != nil {
		t.Fatal(err)
	}
	if c.OnlyBefore != 1 || c.OnlyAfter != 2 || c.Same != 1 || c.Differing != 2 || c.Before["1, own"] != 3 || c.After["2, own"] != 1 {
		t.Errorf("%+v", c)
	}
	if len(c.Rules) != 2 || c.Rules[0] != (collection.RuleDifferences{Rule: "a", New: 2, Gone: 1, Scores: 2}) {
		t.Errorf("by rule: %+v", c.Rules)
	}
	if _, err := collection.Compare(t.Context(), fstest.MapFS{"a.findings.json": {Data: []byte("no JSON")}}, fstest.MapFS{"a.findings.json": {Data: []byte("{}")}}, nil); err == nil || !strings.Contains(err.Error(), "a.findings.json") {
		t.Errorf("a damaged report: %v", err)
	}
}

// Every difference has the same chance: with ten of a hundred, each comes up in a tenth of
// a thousand samples, as a binomial with a deviation of 9.5 does.
func TestSamplesAreFairAndTheSameForASeed(t *testing.T) {
	draw := func(seed uint64) (rules []string) {
		s := collection.NewSample(10, seed)
		for i := range 100 {
			if err := s.Add(&collection.Difference{Rule: fmt.Sprint(i)}); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Each(func(d *collection.Difference) error { rules = append(rules, d.Rule); return nil }); err != nil {
			t.Fatal(err)
		}
		return rules
	}
	if a, b := draw(7), draw(7); strings.Join(a, " ") != strings.Join(b, " ") || len(a) != 10 {
		t.Errorf("one seed gave %v and %v", a, b)
	}
	count := map[string]int{}
	for seed := range uint64(1000) {
		for _, rule := range draw(seed) {
			count[rule]++
		}
	}
	for i := range 100 {
		if n := count[fmt.Sprint(i)]; n < 55 || n > 145 {
			t.Errorf("number %d was chosen %d times of 1000", i, n)
		}
	}
	failed := errors.New("full")
	s := collection.NewSample(1, 1)
	_ = s.Add(&collection.Difference{})
	if err := s.Each(func(*collection.Difference) error { return failed }); !errors.Is(err, failed) {
		t.Errorf("an error of the output: %v", err)
	}
}

// Two rule sets over the demo class differ as their tables of findings do, counted by rule
// from the CSV.
func TestRuleSetsDifferAsTheirTablesDo(t *testing.T) {
	engine := &worker.Engine{Version: "test"}
	scores, err := filepath.Glob("../../testdata/class/*.musicxml")
	if err != nil || len(scores) < 4 {
		t.Fatalf("%d scores, %v", len(scores), err)
	}
	sides := make([]map[string]*report.Report, 2)
	lines := make([]map[string]int, 2) // rule, file, onset, voices, severity
	for i, name := range []string{"strict-chorale", "free"} {
		r := request.Defaults(&request.Check{})
		r.RuleSet = name
		plan, err := r.Plan()
		if err != nil {
			t.Fatal(err)
		}
		sides[i], lines[i] = map[string]*report.Report{}, map[string]int{}
		for _, path := range scores {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			a, err := engine.Do(t.Context(), worker.Input{Name: path, Data: data}, plan)
			if err != nil {
				t.Fatal(err)
			}
			said := a.Report.(*report.Report)
			sides[i][strings.TrimSuffix(filepath.Base(path), ".musicxml")] = said
			for _, f := range said.Findings {
				lines[i][strings.Join([]string{f.Rule, path, f.Onset, strings.Join(f.Voices, " "), f.Severity, f.Key, f.Numeral}, "|")]++
			}
		}
	}
	// Lines of one side alone are findings that are new, gone, or changed, which are one on
	// either side.
	want := map[string]int{}
	for side := range lines {
		for line, n := range lines[side] {
			rule, _, _ := strings.Cut(line, "|")
			want[rule] += max(n-lines[1-side][line], 0)
		}
	}
	c, err := collection.Compare(t.Context(), folder(t, sides[0]), folder(t, sides[1]), func(*collection.Difference) error { return nil })
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, r := range c.Rules {
		total += r.New + r.Gone + r.Changed
		if got := r.New + r.Gone + 2*r.Changed; got != want[r.Rule] {
			t.Errorf("%s: %+v, the tables differ in %d lines", r.Rule, r, want[r.Rule])
		}
		delete(want, r.Rule)
	}
	for rule, n := range want {
		if n > 0 {
			t.Errorf("%s differs in %d lines and in no finding", rule, n)
		}
	}
	if total < 5 {
		t.Errorf("the rule sets differ in %d findings only", total)
	}
}
