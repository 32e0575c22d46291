package partwriting

import (
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// findingKey is what makes two findings the same before and after a change.
type findingKey struct {
	rule  RuleID
	onset theory.Fraction
	// voices are the voices concerned, a character each.
	voices string
}

func keyOf(f *Finding) findingKey {
	var voices strings.Builder
	for _, v := range f.Voices {
		voices.WriteRune(rune(v + 1))
	}
	return findingKey{f.Rule, f.Onset, voices.String()}
}

func tally(findings []Finding) map[findingKey]Severity {
	m := make(map[findingKey]Severity, len(findings))
	for i := range findings {
		m[keyOf(&findings[i])] = findings[i].Severity
	}
	return m
}

// wholeJudge checks the whole passage again.
type wholeJudge struct {
	passage *Passage
	// before are the findings without a change.
	before map[findingKey]Severity
}

// mends applies a fix to a copy and checks it: first by the reading there is,
// which is quick, then by a new one.
func (w *wholeJudge) mends(f *Finding, fix Fix) bool {
	p := w.passage
	changed := Apply(p.Texture, fix)
	if !w.better(f, Check(changed, p.Harmony, p.Set)) {
		return false
	}
	return p.Harmony == nil || w.better(f, Check(changed, w.reread(changed), p.Set))
}

// reread reads a changed copy anew; chords that were named keep their names.
func (w *wholeJudge) reread(changed *theory.Texture) *harmony.Analysis {
	p := w.passage
	if given := p.Harmony.Given; len(given) > 0 {
		return harmony.GuidedAs(changed, given, p.Harmony.Use, p.Harmony.Style)
	}
	var labels []harmony.Label
	for i := range p.chords {
		h := &p.chords[i]
		if !named(h) {
			return harmony.AnalyzeAs(changed, p.Harmony.Style)
		}
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	return harmony.Assume(changed, labels)
}

func (w *wholeJudge) better(f *Finding, after []Finding) bool {
	gone := keyOf(f)
	for i := range after {
		k := keyOf(&after[i])
		if k == gone {
			return false
		}
		if before, known := w.before[k]; after[i].Severity == Fault && (!known || before < Fault) {
			return false
		}
	}
	return true
}
