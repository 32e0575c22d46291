package settings

import (
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"partwright/theory/partwriting"
)

// RubricFile is what a [Error] about a rubric says that the file should hold.
const RubricFile = "rubric"

// rubricKeys are the keys of a rubric file.
var rubricKeys = []string{
	"name", "based-on", "source", "points", "points-a-chord", "points-a-phrase", "faults", "cautions", "remarks",
	"rules", "families", "most-a-phrase", "most-a-rule", "most-a-family", "praise",
}

// ReadRubric reads a teacher's own rubric from YAML 1.2, of which JSON is a part:
//
//	name: second quiz
//	points: 40
//	faults: 2
//	cautions: 0.5
//	families:
//	  consecutives: 4
//	rules:
//	  leading-tone-doubled: 1
//	most-a-phrase: 6
//	praise: yes
//
// Only name is needed, and something that the work is worth: points, or as much
// for each chord or phrase. based-on is a rubric that comes with the program. Points
// are whole or half. Whatever the file names must exist: every problem is reported
// with its line, as a [*Error].
func ReadRubric(file string, data []byte) (*partwriting.Rubric, error) {
	return read(file, data, RubricFile, (*reader).rubric)
}

func (r *reader) rubric(body ast.Node) *partwriting.Rubric {
	fields := r.fields(body, "a rubric", rubricKeys)
	rubric := &partwriting.Rubric{}
	if e, ok := fields["based-on"]; ok {
		rubric = r.rubricBase(e)
	}
	rubric.Name = r.name(body, fields, "a rubric", func(name string) bool {
		_, taken := partwriting.RubricByName(name)
		return taken
	})
	if e, ok := fields["source"]; ok {
		rubric.Source = partwriting.Source{Work: r.text(e)}
	}
	for key, to := range map[string]*partwriting.Points{
		"points": &rubric.Fixed, "points-a-chord": &rubric.PerChord, "points-a-phrase": &rubric.EachPhrase,
		"faults": &rubric.Faults, "cautions": &rubric.Cautions, "remarks": &rubric.Remarks,
		"most-a-phrase": &rubric.PerPhrase, "most-a-rule": &rubric.PerRule, "most-a-family": &rubric.PerFamily,
	} {
		if e, ok := fields[key]; ok {
			*to = r.points(e)
		}
	}
	r.rubricPrices(fields, rubric)
	if e, ok := fields["praise"]; ok {
		rubric.Praise = r.yes(e)
	}
	if rubric.Fixed+rubric.PerChord+rubric.EachPhrase == 0 && len(r.err.Lines) == 0 {
		r.problem(body, "nothing says what the work is worth: give points, points-a-chord or points-a-phrase")
	}
	return rubric
}

func (r *reader) rubricBase(e entry) *partwriting.Rubric {
	var names []string
	for _, known := range partwriting.Rubrics() {
		names = append(names, known.Name)
	}
	name := r.text(e)
	base, ok := partwriting.RubricByName(name)
	if !ok {
		r.problem(e.value, "there is no rubric %q%s; there are %s", name, r.didYouMean(name, names), strings.Join(names, ", "))
	}
	return &base
}

// rubricPrices reads what findings of single rules and families cost.
func (r *reader) rubricPrices(fields map[string]entry, rubric *partwriting.Rubric) {
	if all, ok := fields["rules"]; ok {
		own := map[partwriting.RuleID]partwriting.Points{}
		for id, points := range rubric.Rules {
			own[id] = points
		}
		for _, e := range r.entries(all.value, "rules") {
			if id, ok := r.rule(e.node, e.key); ok {
				own[id] = r.points(e)
			}
		}
		rubric.Rules = own
	}
	if all, ok := fields["families"]; ok {
		rubric.Families = map[partwriting.Family]partwriting.Points{}
		for _, e := range r.entries(all.value, "families") {
			var names []string
			for _, f := range partwriting.Families {
				names = append(names, f.String())
			}
			i := slices.Index(names, e.key)
			if i < 0 {
				r.problem(e.node, "there is no family %q%s; there are %s", e.key, r.didYouMean(e.key, names), strings.Join(names, ", "))
				continue
			}
			rubric.Families[partwriting.Families[i]] = r.points(e)
		}
	}
}

func (r *reader) points(e entry) partwriting.Points {
	points, err := partwriting.ParsePoints(r.text(e))
	if err != nil {
		r.problem(e.value, "%s: %v", e.key, err)
	}
	return points
}

// yes reads a choice between yes and no, or true and false.
func (r *reader) yes(e entry) bool {
	switch word := strings.ToLower(r.text(e)); word {
	case "yes", "true":
		return true
	case "no", "false":
		return false
	default:
		r.problem(e.value, "%s takes yes or no, not %q", e.key, word)
		return false
	}
}
