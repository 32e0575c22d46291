package settings

import (
	"strings"

	"github.com/goccy/go-yaml/ast"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// ReadRuleSet reads a teacher's own rule set from YAML 1.2, of which JSON is a
// part:
//
//	name: first year, autumn
//	based-on: strict-chorale
//	rules:
//	  direct-fifths: off
//	  voice-overlap: remark
//	settings:
//	  upper-spacing: M10
//	compass: chorales
//	ranges:
//	  B: D2-D4
//	accepted:
//	  12: [direct-fifths, voice-overlap]
//
// Only name is needed. based-on is a set that comes with the program, the default
// one if left out; a severity is fault, caution, remark or off. Whatever the file
// names must exist: every problem is reported with its line, and as a
// [*Error]. accepted names, by printed measure, what the teacher lets stand.
func ReadRuleSet(file string, data []byte) (*partwriting.RuleSet, error) {
	return read(file, data, "rule set", (*reader).set)
}

// keys of a rule-set file.
var ruleSetKeys = []string{"name", "based-on", "rules", "settings", "compass", "ranges", "accepted"}

func (r *reader) set(body ast.Node) *partwriting.RuleSet {
	set := &partwriting.RuleSet{Severities: map[partwriting.RuleID]partwriting.Severity{}}
	fields := r.fields(body, "a rule set", ruleSetKeys)
	if e, ok := fields["based-on"]; ok {
		r.basedOn(set, e)
	}
	set.Name = r.name(body, fields, "a rule set", func(name string) bool { return partwriting.RuleSetByName(name) != nil })
	if e, ok := fields["rules"]; ok {
		r.rules(set, e)
	}
	if e, ok := fields["settings"]; ok {
		r.settings(set, e)
	}
	if e, ok := fields["compass"]; ok {
		r.compass(set, e)
	}
	if e, ok := fields["ranges"]; ok {
		r.ranges(set, e)
	}
	if e, ok := fields["accepted"]; ok {
		set.Accepted = r.accepted(e.value)
	}
	return set
}

func (r *reader) basedOn(set *partwriting.RuleSet, e entry) {
	var names []string
	for _, s := range partwriting.RuleSets() {
		names = append(names, s.Name)
	}
	name := r.text(e)
	base := partwriting.RuleSetByName(name)
	if base == nil {
		r.problem(e.value, "there is no rule set %q%s; there are %s", name, r.didYouMean(name, names), strings.Join(names, ", "))
		return
	}
	for id, severity := range base.Severities {
		set.Severities[id] = severity
	}
	set.Limits = base.Limits
}

func (r *reader) rules(set *partwriting.RuleSet, all entry) {
	for _, e := range r.entries(all.value, "rules") {
		id, known := r.rule(e.node, e.key)
		if !known {
			continue
		}
		severity, ok := partwriting.SeverityByName(r.text(e))
		if !ok {
			r.problem(e.value, "%s: %q is no severity; write fault, caution, remark or off", e.key, r.text(e))
			continue
		}
		set.Severities[id] = severity
	}
}

func (r *reader) settings(set *partwriting.RuleSet, all entry) {
	var names []string
	for _, s := range partwriting.Settings() {
		names = append(names, s.Name)
	}
	for _, e := range r.entries(all.value, "settings") {
		setting, ok := partwriting.SettingByName(e.key)
		if !ok {
			r.problem(e.node, "there is no setting %q%s", e.key, r.didYouMean(e.key, names))
			continue
		}
		if err := setting.Set(&set.Limits, r.text(e)); err != nil {
			r.problem(e.value, "%s takes %s: %v", e.key, setting.Takes, err)
		}
	}
}

func (r *reader) compass(set *partwriting.RuleSet, e entry) {
	var names []string
	for _, c := range partwriting.Compasses() {
		names = append(names, c.Name)
	}
	name := r.text(e)
	compass, ok := partwriting.CompassByName(name)
	if !ok {
		r.problem(e.value, "there is no compass %q%s; there are %s", name, r.didYouMean(name, names), strings.Join(names, ", "))
		return
	}
	set.Limits.UseCompass(compass)
}

func (r *reader) ranges(set *partwriting.RuleSet, all entry) {
	own := partwriting.ConservativeRanges()
	for name, limits := range set.Limits.Ranges {
		own[name] = limits
	}
	for _, e := range r.entries(all.value, "ranges") {
		limits, err := partwriting.ParseRange(r.text(e))
		switch {
		case err != nil:
			r.problem(e.value, "%s: %v", e.key, err)
		case !isVoiceName(e.key):
			r.problem(e.node, "%q is no voice; write S, A, T, B, or V1, V2, … from the top", e.key)
		default:
			own[e.key] = limits
		}
	}
	set.Limits.Ranges = own
}

// ReadAccepted reads what a teacher lets stand, as the key accepted of a rule set
// has it: printed measures, each with the rules whose findings there are accepted. A
// rule may name a beat, "spacing@3" or "spacing@5/2", and is accepted there alone.
// Errors are a [*Error].
func ReadAccepted(file string, data []byte) (map[string][]partwriting.RuleID, error) {
	return read(file, data, "list of what is accepted", (*reader).accepted)
}

func (r *reader) accepted(all ast.Node) map[string][]partwriting.RuleID {
	accepted := map[string][]partwriting.RuleID{}
	for _, e := range r.entries(all, "accepted") {
		for _, item := range r.items(e) {
			if id, ok := r.ruleAtBeat(item.value, r.text(item)); ok {
				accepted[e.key] = append(accepted[e.key], id)
			}
		}
	}
	return accepted
}

// ruleAtBeat reads a rule that may name a beat.
func (r *reader) ruleAtBeat(at ast.Node, text string) (partwriting.RuleID, bool) {
	name, beat := partwriting.RuleID(text).CutBeat()
	id, ok := r.rule(at, string(name))
	if !ok || text == string(name) {
		return id, ok
	}
	exact, err := theory.ParseFraction(beat)
	if err != nil || exact.Less(theory.Whole(1)) {
		r.problem(at, "%q is no beat; write it behind the sign @ as a number or fraction from 1 on, such as %s@3 or %s@5/2", beat, id, id)
		return "", false
	}
	return id.AtBeat(exact.String()), true
}

// rule returns the rule of that name; that there is none is a problem.
func (r *reader) rule(at ast.Node, name string) (partwriting.RuleID, bool) {
	id := partwriting.RuleID(name)
	if partwriting.RuleByID(id) == nil {
		r.problem(at, "there is no rule %q%s", name, r.didYouMean(name, ruleIDs()))
		return "", false
	}
	return id, true
}

func ruleIDs() []string {
	var ids []string
	for _, rule := range partwriting.Rules() {
		ids = append(ids, string(rule.ID))
	}
	return ids
}

func isVoiceName(name string) bool {
	if len(name) == 1 {
		return strings.Contains("SATB", name)
	}
	return name[0] == 'V' && strings.Trim(name[1:], "0123456789") == "" && len(name) <= 3
}
