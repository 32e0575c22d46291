package collection

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"slices"
	"strings"

	"partwright/worker/answer"
	"partwright/worker/report"
)

// Kinds of a [Difference].
const (
	// DifferenceNew is a finding that only the later answers have, DifferenceGone one that
	// only the earlier have.
	DifferenceNew  = "new"
	DifferenceGone = "gone"
	// DifferenceChanged is a finding that both have, with another severity, another
	// harmony, or other notes.
	DifferenceChanged = "changed"
)

// Difference is a finding that two answers to one score do not have alike. Findings are
// the same where rule, onset and voices are.
type Difference struct {
	Kind string `json:"kind"`
	// File is the name the score came under, in the later answers where both have it.
	File   string `json:"file"`
	Rule   string `json:"rule"`
	Family string `json:"family"`
	// Before and After are the severities, "" where there is no such finding.
	Before  string  `json:"before"`
	After   string  `json:"after"`
	Measure string  `json:"measure"`
	Beat    float64 `json:"beat"`
	Voices  string  `json:"voices"`
	// Harmony is that of the later answer, else of the earlier, such as "G minor V7".
	Harmony string `json:"harmony"`
	// Message is the sentence of the later answer, else of the earlier.
	Message string `json:"message"`
}

// RuleDifferences count those of one rule.
type RuleDifferences struct {
	Rule               string `json:"rule"`
	New, Gone, Changed int
	// Scores is in how many scores there are any.
	Scores int
}

// Comparison is how two collections of answers differ.
type Comparison struct {
	// Before and After say who answered which scores that both have, as "VERSION,
	// RULE-SET".
	Before, After map[string]int
	// Same and Differing are how many scores both have answers to, with the same findings
	// and not.
	Same, Differing int
	// OnlyBefore and OnlyAfter are how many have an answer on one side only.
	OnlyBefore, OnlyAfter int
	// Reworded are how many findings are told in other words and are else the same.
	Reworded int
	// Rules are those with differences, the most of them first.
	Rules []RuleDifferences
}

// Compare compares the reports in two folders of answers, score by score as their paths
// there are the same, and calls f with each difference in the order of the paths, until
// one is an error. It holds one score at a time.
func Compare(ctx context.Context, before, after fs.FS, f func(*Difference) error) (*Comparison, error) {
	earlier, err := reports(before)
	if err != nil {
		return nil, err
	}
	later, err := reports(after)
	if err != nil {
		return nil, err
	}
	c := &Comparison{Before: map[string]int{}, After: map[string]int{}}
	counts := map[string]*RuleDifferences{}
	for _, path := range earlier {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if _, found := slices.BinarySearch(later, path); !found {
			c.OnlyBefore++
			continue
		}
		one, err := readReportFile(before, path)
		if err != nil {
			return nil, err
		}
		other, err := readReportFile(after, path)
		if err != nil {
			return nil, err
		}
		if err := c.add(one, other, counts, f); err != nil {
			return nil, err
		}
	}
	c.OnlyAfter = len(later) - c.Same - c.Differing
	for _, n := range counts {
		c.Rules = append(c.Rules, *n)
	}
	slices.SortFunc(c.Rules, func(a, b RuleDifferences) int {
		if n := b.New + b.Gone + b.Changed - a.New - a.Gone - a.Changed; n != 0 {
			return n
		}
		return strings.Compare(a.Rule, b.Rule)
	})
	return c, nil
}

// reports lists the paths of reports in a folder and those below it, in order.
func reports(folder fs.FS) (paths []string, err error) {
	err = fs.WalkDir(folder, ".", func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() && strings.HasSuffix(path, answer.FindingsSuffix) {
			paths = append(paths, path)
		}
		return err
	})
	slices.Sort(paths)
	return paths, err
}

func readReportFile(folder fs.FS, path string) (*report.Report, error) {
	text, err := fs.ReadFile(folder, path)
	if err != nil {
		return nil, err
	}
	r := &report.Report{}
	if err := json.Unmarshal(text, r); err != nil {
		return nil, fmt.Errorf("%s is no report that can be read: %w; check the score again", path, err)
	}
	return r, nil
}

// add compares the answers to one score.
func (c *Comparison) add(before, after *report.Report, counts map[string]*RuleDifferences, f func(*Difference) error) error {
	c.Before[before.Engine+", "+before.RuleSet]++
	c.After[after.Engine+", "+after.RuleSet]++
	differences, reworded := differencesOf(before, after)
	c.Reworded += reworded
	if len(differences) == 0 {
		c.Same++
		return nil
	}
	c.Differing++
	seen := map[string]bool{}
	for i := range differences {
		d := &differences[i]
		n := counts[d.Rule]
		if n == nil {
			n = &RuleDifferences{Rule: d.Rule}
			counts[d.Rule] = n
		}
		switch d.Kind {
		case DifferenceNew:
			n.New++
		case DifferenceGone:
			n.Gone++
		default:
			n.Changed++
		}
		if !seen[d.Rule] {
			seen[d.Rule] = true
			n.Scores++
		}
		if err := f(d); err != nil {
			return err
		}
	}
	return nil
}

// findingKey is what two answers must have in common for a finding to be the same.
type findingKey struct{ rule, onset, voices string }

func keyOfFinding(f *report.Finding) findingKey {
	return findingKey{f.Rule, f.Onset, strings.Join(f.Voices, " ")}
}

// differencesOf are those of one score, in the order of the later answer, then those that
// are gone; reworded are the findings that are only told otherwise.
func differencesOf(before, after *report.Report) (all []Difference, reworded int) {
	earlier := map[findingKey][]*report.Finding{}
	for i := range before.Findings {
		f := &before.Findings[i]
		earlier[keyOfFinding(f)] = append(earlier[keyOfFinding(f)], f)
	}
	for i := range after.Findings {
		f := &after.Findings[i]
		same := earlier[keyOfFinding(f)]
		if len(same) == 0 {
			all = append(all, difference(DifferenceNew, after, f, "", f.Severity))
			continue
		}
		was := same[0]
		earlier[keyOfFinding(f)] = same[1:]
		switch {
		case was.Severity != f.Severity, was.Key != f.Key, was.Numeral != f.Numeral, pitchesOf(was) != pitchesOf(f):
			all = append(all, difference(DifferenceChanged, after, f, was.Severity, f.Severity))
		case was.Message != f.Message:
			reworded++
		}
	}
	for i := range before.Findings {
		f := &before.Findings[i]
		if left := earlier[keyOfFinding(f)]; len(left) > 0 && left[0] == f {
			earlier[keyOfFinding(f)] = left[1:]
			all = append(all, difference(DifferenceGone, before, f, f.Severity, ""))
		}
	}
	return all, reworded
}

func pitchesOf(f *report.Finding) string {
	pitches, _ := f.Sounding()
	return pitches
}

func difference(kind string, in *report.Report, f *report.Finding, before, after string) Difference {
	return Difference{
		Kind: kind, File: in.File, Rule: f.Rule, Family: f.Family, Before: before, After: after,
		Measure: f.Measure, Beat: f.Beat, Voices: strings.Join(f.Voices, " "),
		Harmony: strings.TrimSpace(f.Key + " " + f.Numeral), Message: f.Message,
	}
}

// Sample is a choice of differences of which each had the same chance; the same seed
// chooses the same (J. S. Vitter, "Random Sampling with a Reservoir", ACM TOMS 11,1985,
// algorithm R).
type Sample struct {
	size   int
	random *rand.Rand
	seen   int
	kept   []sampled
}

// sampled is a difference with its place among all.
type sampled struct {
	place int
	Difference
}

// NewSample is for so many differences.
func NewSample(size int, seed uint64) *Sample {
	return &Sample{size: size, random: rand.New(rand.NewPCG(seed, 0))} // #nosec G404 -- chooses what is looked at, guards nothing
}

// Add adds a difference to choose from.
func (s *Sample) Add(d *Difference) error {
	s.seen++
	if len(s.kept) < s.size {
		s.kept = append(s.kept, sampled{s.seen, *d})
	} else if i := s.random.IntN(s.seen); i < s.size {
		s.kept[i] = sampled{s.seen, *d}
	}
	return nil
}

// Each calls f with those that were chosen, in their order.
func (s *Sample) Each(f func(*Difference) error) error {
	slices.SortFunc(s.kept, func(a, b sampled) int { return a.place - b.place })
	var errs []error
	for i := range s.kept {
		errs = append(errs, f(&s.kept[i].Difference))
	}
	return errors.Join(errs...)
}
