package partwriting

import (
	"runtime/debug"

	"partwright/theory"
	"partwright/theory/harmony"
)

// MaxFindings is how many findings of one score are reported: the first ones in
// reading order. One rule gives no more than maxPerRule of them.
const (
	MaxFindings = 5000
	maxPerRule  = 2000
)

// Check runs the rules of a set (nil for the default set) over a texture and its
// harmonic reading and returns what they find in the order a reader meets it, what
// follows from another finding behind that one.
// Without a reading (nil) the rules that need one are silent. The same input
// always gives the same findings.
func Check(t *theory.Texture, a *harmony.Analysis, set *RuleSet) []Finding {
	return NewPassage(t, a, set).Check()
}

// CheckPart is [Check] of a stretch of music that is cut out of a longer one: a part is no
// hand-in, so nothing is said about the hand-in as a whole (whether it is finished, and
// whether a line stands an octave away), and a jump counts only where both of its ends
// are there.
func CheckPart(t *theory.Texture, a *harmony.Analysis, set *RuleSet) []Finding {
	p := NewPassage(t, a, set)
	p.part = true
	return p.Check()
}

// Check is [Check] of a passage that was prepared before, with the set it was
// prepared for.
func (p *Passage) Check() []Finding {
	return p.by(suite)
}

// by is [Passage.Check] by some rules.
func (p *Passage) by(rules []*Rule) []Finding {
	if len(p.Moments) == 0 {
		return nil
	}
	var findings []Finding
	accepted := newAcceptance(p.Set, p.Score)
	for _, r := range rules {
		findings = p.apply(r, accepted, findings)
	}
	p.weighDoubts(findings)
	findings = withoutSymptoms(findings)
	inReadingOrder(findings)
	findings = findings[:min(len(findings), MaxFindings)]
	groupByCause(findings, p.Score.Work)
	return findings
}

// apply appends what a rule finds, as grave as it is in the set.
func (p *Passage) apply(r *Rule, accepted *acceptance, findings []Finding) []Finding {
	severity := p.Set.SeverityOf(r)
	if severity == Off {
		return findings
	}
	found := p.applying(r, run(r, p))
	for _, f := range found[:min(len(found), maxPerRule)] {
		f.Rule, f.Family = r.ID, r.Family
		if f.Severity == Off || f.Severity > severity {
			f.Severity = severity
		}
		accepted.apply(&f)
		findings = append(findings, f)
	}
	return findings
}

// RulePanic is what [Check] panics with when a rule panicked: it names the rule.
type RulePanic struct {
	Rule RuleID
	// Value is what the rule panicked with, Stack where.
	Value any
	Stack []byte
}

func run(r *Rule, p *Passage) []Finding {
	defer func() {
		switch value := recover().(type) {
		case nil:
		case *theory.Stopped:
			panic(value)
		default:
			panic(&RulePanic{Rule: r.ID, Value: value, Stack: debug.Stack()})
		}
	}()
	p.Score.Work.Step(len(p.Moments))
	return append(r.Check(p), p.seamFindings(r)...)
}
