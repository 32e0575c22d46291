package request

import (
	"fmt"
	"strings"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// MostMendings bounds the ways to mend a score that one request can ask for.
const MostMendings = 5

// UsualMost is the most findings of a score that are mended unasked: where there are
// more, the exercise has to be talked about first.
const UsualMost = 12

// Mending is what can be asked of mending, of one score or of many.
type Mending struct {
	// Severity is fault, caution or remark: what is as grave is to go.
	Severity string
	// Keep names voices that are given, KeepMeasures measures that stay as they are,
	// by printed label.
	Keep         []string
	KeepMeasures []string
	// Only lists the findings that are to go, each a rule ("parallel-fifths") or a
	// rule in a measure by its printed label ("parallel-fifths@3"); none is all.
	Only []string
	// All mends a score however many findings it has; without it, and without Only, one
	// with more than [UsualMost] is left alone.
	All bool
	// Alternatives is how many mendings are wanted.
	Alternatives int
	// Both asks for a sheet with all versions.
	Both bool
}

func (m *Mending) fields() []Field {
	return []Field{
		text(&m.Severity, "severity", "mend what is at least a fault, caution or remark").
			or(partwriting.Fault.String()).oneOf("severity", Severities()),
		list(&m.Keep, "keep", "voices that are given, such as S,B").upTo(200),
		list(&m.KeepMeasures, "keep_measures", "measures that stay as they are, by printed number"),
		list(&m.Only, "only", "findings to take out, by rule or by rule and measure, such as parallel-fifths@3 (default: all)").suggesting(ruleNames()),
		yes(&m.All, "all", fmt.Sprintf("mend a score with more than %d findings too (default: list them and change nothing)", UsualMost)),
		whole(&m.Alternatives, "alternatives", "how many ways to mend it, at most 5").or("1").between(1, MostMendings),
		yes(&m.Both, "both", "write all versions on one sheet as well, NAME.both.musicxml (with --out)"),
	}
}

// Severities lists the names of severities, the gravest first.
func Severities() []string {
	return []string{partwriting.Fault.String(), partwriting.Caution.String(), partwriting.Remark.String()}
}

// Mend asks for one score to be mended.
type Mend struct {
	Rules
	Words
	Given
	Mending
	// Labels is an analysis in RomanText for the score.
	Labels Source
}

// Fields implements [Request].
func (m *Mend) Fields() []Field {
	fields := append(m.Rules.fields(), m.Words.fields()...)
	fields = append(fields, m.Given.fields()...)
	return append(append(fields, m.Mending.fields()...), labelsField(&m.Labels))
}

// MendPlan is what the engine does when it mends.
type MendPlan struct {
	Law
	Catalog  *partwriting.Catalog
	Given    harmony.LabelUse
	Style    harmony.Style
	Severity partwriting.Severity
	// Keep, KeepMeasures and Only are as in [Mending].
	Keep, KeepMeasures []string
	Only               []Wanted
	// Most is how many findings are mended without Only, 0 for any number.
	Most         int
	Alternatives int
	Both         bool
	// Alike is for many scores that are mended alike: what Keep, KeepMeasures and
	// Only name and a score does not have is passed over, and so is a sheet on which
	// its versions cannot stand.
	Alike bool

	asked asked
}

// Wanted names findings: those of a rule, in the measure of a printed label or, where
// it is nil, anywhere.
type Wanted struct {
	// Text is how it was asked for.
	Text    string
	Rule    partwriting.RuleID
	Measure *string
}

// Meets tells whether a finding in the measure of a printed label is wanted.
func (w *Wanted) Meets(f *partwriting.Finding, measure string) bool {
	return f.Rule == w.Rule && (w.Measure == nil || *w.Measure == measure)
}

// Plan says what the engine is to do; an error is an [*Error].
func (m *Mend) Plan() (*MendPlan, error) {
	law, err := m.law()
	if err != nil {
		return nil, err
	}
	catalog, err := m.catalog()
	if err != nil {
		return nil, err
	}
	p, err := m.Mending.plan(law, catalog, &m.Given)
	if err == nil {
		own := *m
		p.asked.request = &own
	}
	return p, err
}

func (m *Mending) plan(law Law, catalog *partwriting.Catalog, given *Given) (*MendPlan, error) {
	severity, _ := partwriting.SeverityByName(m.Severity) // one of the choices
	p := &MendPlan{
		Law: law, Catalog: catalog, Given: given.use(), Style: given.style(), Severity: severity,
		Keep: m.Keep, KeepMeasures: m.KeepMeasures, Alternatives: m.Alternatives, Both: m.Both,
	}
	if !m.All {
		p.Most = UsualMost
	}
	for _, text := range m.Only {
		w := Wanted{Text: text}
		rule, measure, placed := strings.Cut(text, "@")
		if placed {
			w.Measure = &measure
		}
		if w.Rule = partwriting.RuleID(rule); partwriting.RuleByID(w.Rule) == nil {
			return nil, &Error{"only", &ChoiceError{Noun: "rule", Value: rule, Choices: ruleNames()}}
		}
		p.Only = append(p.Only, w)
	}
	return p, nil
}

func ruleNames() []string {
	var names []string
	for _, r := range partwriting.Rules() {
		names = append(names, string(r.ID))
	}
	return names
}
