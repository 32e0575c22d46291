package partwriting

import (
	"slices"
	"strings"

	"partwright/theory"
)

// acceptance knows what is let stand: by the rule set, by measure, and by texts in
// the score, where the set heeds them.
type acceptance struct {
	set   *RuleSet
	score *theory.Score
	// texts are the rules that a text in a measure names.
	texts map[ruleInMeasure]bool
	// places are onsets at which a text accepts all that begins there.
	places map[theory.Fraction]bool
}

type ruleInMeasure struct {
	measure int
	rule    RuleID
}

func newAcceptance(set *RuleSet, score *theory.Score) *acceptance {
	a := &acceptance{set: set, score: score}
	if set != nil && set.Limits.IgnoreAcceptedTexts || len(score.Accepted) == 0 {
		return a
	}
	a.texts, a.places = map[ruleInMeasure]bool{}, map[theory.Fraction]bool{}
	for i := range score.Accepted {
		text := &score.Accepted[i]
		if text.Words == "" {
			a.places[text.Onset] = true
		}
		for _, name := range ruleNames(text.Words) {
			a.texts[ruleInMeasure{text.Measure, RuleID(name)}] = true
		}
	}
	return a
}

func ruleNames(words string) []string {
	return strings.FieldsFunc(words, func(r rune) bool { return r == ',' || r == ';' || r == ' ' })
}

// apply turns a finding that is let stand into a remark that says so.
func (a *acceptance) apply(f *Finding) {
	measure := &a.score.Measures[f.Measure]
	switch {
	case a.set.accepts(f.Rule, measure.Label, measure.Time.BeatAt(f.Onset.Sub(measure.Onset))):
		f.Severity, f.Licence = Remark, AcceptedHere
	case a.texts[ruleInMeasure{f.Measure, f.Rule}], a.places[f.Onset]:
		f.Severity, f.Licence = Remark, AcceptedInScore
	}
}

// mostUnknown is how many names that are no rules are reported.
const mostUnknown = 5

// UnknownAccepted returns the first few names in the texts of a score that accept
// something and are no rules, each once.
func UnknownAccepted(score *theory.Score) []string {
	var unknown []string
	for i := range score.Accepted {
		for _, name := range ruleNames(score.Accepted[i].Words) {
			if len(unknown) == mostUnknown {
				return unknown
			}
			if RuleByID(RuleID(name)) == nil && !slices.Contains(unknown, name) {
				unknown = append(unknown, name)
			}
		}
	}
	return unknown
}
