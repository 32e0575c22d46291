package worker

import (
	"fmt"
	"sort"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"partwright/theory/partwriting"
)

// MaxRuleSetFile is the largest rule-set file that is read, in bytes.
const MaxRuleSetFile = 256 << 10

// RuleSetError lists everything wrong with a rule-set file, in order of line.
type RuleSetError struct {
	// File is the name the file came under.
	File  string
	Lines []RuleSetProblem
}

// RuleSetProblem is one thing wrong, and what to write instead.
type RuleSetProblem struct {
	// Line counts from 1; 0 means the file as a whole.
	Line    int
	Message string
}

// Error returns every problem on a line of its own.
func (e *RuleSetError) Error() string {
	var b strings.Builder
	for i, p := range e.Lines {
		if i > 0 {
			b.WriteByte('\n')
		}
		if p.Line == 0 {
			fmt.Fprintf(&b, "%s: %s", e.File, p.Message)
			continue
		}
		fmt.Fprintf(&b, "%s:%d: %s", e.File, p.Line, p.Message)
	}
	return b.String()
}

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
// names must exist: every problem is told with its line, and as a
// [*RuleSetError]. accepted names, by printed measure, what the teacher lets stand.
func ReadRuleSet(file string, data []byte) (*partwriting.RuleSet, error) {
	r := &ruleSetReader{err: &RuleSetError{File: file}}
	if len(data) > MaxRuleSetFile {
		r.problem(nil, "larger than %d bytes", MaxRuleSetFile)
		return nil, r.err
	}
	parsed, err := parser.ParseBytes(data, 0)
	if err != nil {
		r.syntax(err)
		return nil, r.err
	}
	if len(parsed.Docs) != 1 || parsed.Docs[0].Body == nil {
		r.problem(nil, "holds no rule set, or more than one")
		return nil, r.err
	}
	set := r.set(parsed.Docs[0].Body)
	if len(r.err.Lines) > 0 {
		sort.SliceStable(r.err.Lines, func(i, j int) bool { return r.err.Lines[i].Line < r.err.Lines[j].Line })
		return nil, r.err
	}
	return set, nil
}

type ruleSetReader struct{ err *RuleSetError }

func (r *ruleSetReader) problem(at ast.Node, format string, args ...any) {
	line := 0
	if at != nil && at.GetToken() != nil {
		line = at.GetToken().Position.Line
	}
	r.err.Lines = append(r.err.Lines, RuleSetProblem{line, fmt.Sprintf(format, args...)})
}

// keys of a rule-set file.
var ruleSetKeys = []string{"name", "based-on", "rules", "settings", "compass", "ranges", "accepted"}

func (r *ruleSetReader) set(body ast.Node) *partwriting.RuleSet {
	set := &partwriting.RuleSet{Severities: map[partwriting.RuleID]partwriting.Severity{}}
	fields := map[string]entry{}
	for _, e := range r.entries(body, "the file") {
		if _, twice := fields[e.key]; twice {
			r.problem(e.node, "%s stands here a second time", e.key)
		}
		fields[e.key] = e
		if !contains(ruleSetKeys, e.key) {
			r.problem(e.node, "%s is not known%s; a rule set has %s", e.key, meant(e.key, ruleSetKeys), strings.Join(ruleSetKeys, ", "))
		}
	}
	if e, ok := fields["based-on"]; ok {
		r.basedOn(set, e)
	}
	set.Name = ""
	if e, ok := fields["name"]; ok {
		set.Name = r.text(e)
	}
	if set.Name == "" {
		r.problem(body, "a rule set needs a name: that is what answers show")
	} else if partwriting.RuleSetByName(set.Name) != nil {
		r.problem(fields["name"].node, "%s is the name of a set that comes with the program; take another", set.Name)
	}
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
		r.accepted(set, e)
	}
	return set
}

func (r *ruleSetReader) basedOn(set *partwriting.RuleSet, e entry) {
	var names []string
	for _, s := range partwriting.RuleSets() {
		names = append(names, s.Name)
	}
	name := r.text(e)
	base := partwriting.RuleSetByName(name)
	if base == nil {
		r.problem(e.value, "there is no rule set %q%s; there are %s", name, meant(name, names), strings.Join(names, ", "))
		return
	}
	for id, severity := range base.Severities {
		set.Severities[id] = severity
	}
	set.Limits = base.Limits
}

func (r *ruleSetReader) rules(set *partwriting.RuleSet, all entry) {
	for _, e := range r.entries(all.value, "rules") {
		if partwriting.RuleByID(partwriting.RuleID(e.key)) == nil {
			r.problem(e.node, "there is no rule %q%s", e.key, meant(e.key, ruleIDs()))
			continue
		}
		severity, ok := severityNamed(r.text(e))
		if !ok {
			r.problem(e.value, "%s: %q is no severity; write fault, caution, remark or off", e.key, r.text(e))
			continue
		}
		set.Severities[partwriting.RuleID(e.key)] = severity
	}
}

func severityNamed(word string) (partwriting.Severity, bool) {
	for _, s := range []partwriting.Severity{partwriting.Off, partwriting.Remark, partwriting.Caution, partwriting.Fault} {
		if s.String() == word {
			return s, true
		}
	}
	return partwriting.Off, false
}

func (r *ruleSetReader) settings(set *partwriting.RuleSet, all entry) {
	var names []string
	for _, s := range partwriting.Settings() {
		names = append(names, s.Name)
	}
	for _, e := range r.entries(all.value, "settings") {
		setting, ok := partwriting.SettingByName(e.key)
		if !ok {
			r.problem(e.node, "there is no setting %q%s", e.key, meant(e.key, names))
			continue
		}
		if err := setting.Set(&set.Limits, r.text(e)); err != nil {
			r.problem(e.value, "%s takes %s: %v", e.key, setting.Takes, err)
		}
	}
}

func (r *ruleSetReader) compass(set *partwriting.RuleSet, e entry) {
	var names []string
	for _, c := range partwriting.Compasses() {
		names = append(names, c.Name)
	}
	name := r.text(e)
	compass, ok := partwriting.CompassByName(name)
	if !ok {
		r.problem(e.value, "there is no compass %q%s; there are %s", name, meant(name, names), strings.Join(names, ", "))
		return
	}
	set.Limits.UseCompass(compass)
}

func (r *ruleSetReader) ranges(set *partwriting.RuleSet, all entry) {
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

func (r *ruleSetReader) accepted(set *partwriting.RuleSet, all entry) {
	set.Accepted = map[string][]partwriting.RuleID{}
	for _, e := range r.entries(all.value, "accepted") {
		for _, item := range r.items(e) {
			id := partwriting.RuleID(r.text(item))
			if partwriting.RuleByID(id) == nil {
				r.problem(item.value, "there is no rule %q%s", id, meant(string(id), ruleIDs()))
				continue
			}
			set.Accepted[e.key] = append(set.Accepted[e.key], id)
		}
	}
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
