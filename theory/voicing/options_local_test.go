package voicing

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// ownSet is a teacher's set that differs from every set of the program: consecutive fifths
// by contrary motion are allowed, overlaps forbidden, neighbors stay within a sixth.
func ownSet() *partwriting.RuleSet {
	return &partwriting.RuleSet{
		Name: "own", Limits: partwriting.Limits{UpperSpacing: theory.Interval{Steps: 5, Semitones: 9}},
		Severities: map[partwriting.RuleID]partwriting.Severity{
			"contrary-fifths": partwriting.Off, "voice-overlap": partwriting.Fault, "unison": partwriting.Caution,
			"third-doubled": partwriting.Fault, "leap-of-seventh": partwriting.Remark, "direct-octaves": partwriting.Caution,
		},
	}
}

// lawsOf are the sets under which options are compared: those of the program and two of a
// teacher's own, one of them as the manual shows it.
func lawsOf() []*partwriting.RuleSet {
	all := []*partwriting.RuleSet{ownSet(), {
		Name: "first year", Severities: map[partwriting.RuleID]partwriting.Severity{"voice-overlap": partwriting.Off, "parallel-fifths": partwriting.Caution},
	}}
	for _, name := range []string{partwriting.DefaultRuleSet, "keyboard", "free"} {
		all = append(all, partwriting.RuleSetByName(name))
	}
	return all
}

// eachChange calls visit with so many random changes, in four textures under four laws by
// turns.
func eachChange(t *testing.T, seed uint64, changes int, visit func(q *Question)) {
	random := rand.New(rand.NewPCG(seed, 1))
	styles, laws := []Style{Chorale(), Keyboard(), ThreeVoices(), FiveVoices()}, lawsOf()
	for i := 0; i < changes; {
		q := randomChange(t, random, styles[i%len(styles)])
		q.RuleSet = laws[i/len(styles)%len(laws)]
		q.Style.Rules = q.RuleSet
		for _, from := range someArrangements(&q, random, 1) {
			q.From.Pitches = from
			q.From.PhraseEnd, q.Ends = random.IntN(5) == 0, random.IntN(5) == 0
			visit(&q)
			i++
		}
	}
}

// TestLocalCheckFindsWhatTheWholeFinds holds what is found of the change alone, from one
// option to the next, to a check of each option as a score of its own.
func TestLocalCheckFindsWhatTheWholeFinds(t *testing.T) {
	compared, found := 0, 0
	eachChange(t, 81, 48, func(q *Question) {
		all := Options(*q)
		for i := range all {
			o := &all[i]
			var want []partwriting.Finding
			texture, analysis := q.Passage(o.Pitches)
			for _, f := range partwriting.Check(texture, analysis, q.RuleSet) {
				if !slices.Contains(notJudged, f.Family) {
					want = append(want, f)
				}
			}
			want = ofTheChange(want)
			if a, b := said(o.Findings, texture), said(want, texture); a != b {
				t.Fatalf("%s, %s: %v to %v %v: %s, as a whole %s", q.Style.Name, q.RuleSet.Name, q.From, q.To, o.Pitches, a, b)
			}
			compared++
			found += len(want)
		}
	})
	if found == 0 {
		t.Error("nothing was found")
	}
	t.Logf("%d options compared, %d findings", compared, found)
}

// TestOptionsSayWhatFollowsFromWhat reads off each number which finding it means.
func TestOptionsSayWhatFollowsFromWhat(t *testing.T) {
	follow := 0
	eachChange(t, 81, 16, func(q *Question) {
		for _, o := range Options(*q) {
			for _, f := range o.Findings {
				if f.Follows == 0 {
					continue
				}
				follow++
				if cause := o.Findings[f.Follows-1].Rule; cause != f.Cause {
					t.Errorf("%v: %s follows from %s, number %d is %s", o.Pitches, f.Rule, f.Cause, f.Follows, cause)
				}
			}
		}
	})
	if follow == 0 {
		t.Error("nothing follows from anything")
	}
}

// said is all that a reader learns of findings.
func said(findings []partwriting.Finding, t *theory.Texture) string {
	english, _ := partwriting.CatalogFor("en")
	out := ""
	for i := range findings {
		f := findings[i]
		f.Follows, f.Cause = 0, "" // what comes first may be of another family or of the first chord
		out += fmt.Sprintln(f.Rule, f.Severity, f.Onset, f.Measure, f.Voices, f.Notes, f.Licence, english.Message(&f, t))
	}
	return out
}

// TestFewOptionsAreTheBestOfAll holds the best few of each kind to the whole list: what is
// not judged since enough were found would not have been among them.
func TestFewOptionsAreTheBestOfAll(t *testing.T) {
	eachChange(t, 83, 48, func(q *Question) {
		every := *q
		q.Best = 2
		var want []string
		count := map[string]int{}
		for _, o := range Options(every) {
			group := fmt.Sprint(o.Way, o.kind())
			if count[group]++; count[group] <= q.Best {
				want = append(want, fmt.Sprint(o.Way, o.Cost, o.Pitches, o.Findings, o.Awkward))
			}
		}
		var got []string
		for _, o := range Options(*q) {
			got = append(got, fmt.Sprint(o.Way, o.Cost, o.Pitches, o.Findings, o.Awkward))
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%s, %s: %v to %v: %q, the best of all %q", q.Style.Name, q.RuleSet.Name, q.From, q.To, got, want)
		}
	})
}
