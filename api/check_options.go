package api

import (
	"strconv"

	"partwright/musicxml"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/settings"
)

// maxFixes bounds the work that one request can ask for.
const maxFixes = 5

// checkFields are the options of a check that a form may hold.
var checkFields = fieldSizes{
	"rule_set": maxFieldBytes, "language": maxFieldBytes, "marks": maxFieldBytes, "fixes": maxFieldBytes,
	"analysis": maxFieldBytes, "given": maxFieldBytes, "annotate": maxFieldBytes, "labels": settings.MaxBytes,
	"rubric": maxFieldBytes, ownField: settings.MaxBytes, "own_rubric": settings.MaxBytes, "accepted": settings.MaxBytes,
}

// checkOptions are the options of a check as they were asked for.
type checkOptions struct {
	ruleSet, rubric, language string
	// own and ownRubric are a rule set and a rubric that came with the score.
	own       *partwriting.RuleSet
	ownRubric *partwriting.Rubric
	// accepted is what the teacher lets stand in this score.
	accepted map[string][]partwriting.RuleID
	marks    *bool
	fixes    int
	// analysis asks for the harmonic analysis.
	analysis bool
	// given says what given labels do, labels are those beside the score.
	given  string
	labels *settings.Labels
	// annotate names what of the analysis stands in the marked score.
	annotate string
}

// override takes the fields of a form, which win over the query.
func (o *checkOptions) override(fields map[string]fieldValue) error {
	for name, field := range fields {
		var err error
		switch name {
		case "rule_set":
			o.ruleSet = field.text
		case "language":
			o.language = field.text
		case "marks":
			var marks bool
			marks, err = truth(name, field.text)
			o.marks = &marks
		case "analysis":
			o.analysis, err = truth(name, field.text)
		case "given":
			o.given = field.text
		case "annotate":
			o.annotate = field.text
		case "labels":
			o.labels, err = settings.ReadLabels(fileOf(name, field), []byte(field.text))
		case "fixes":
			o.fixes, err = fixesIn(field.text)
		case "rubric":
			o.rubric = field.text
		case ownField:
			o.own, err = settings.ReadRuleSet(fileOf(name, field), []byte(field.text))
		case "own_rubric":
			o.ownRubric, err = settings.ReadRubric(fileOf(name, field), []byte(field.text))
		case "accepted":
			o.accepted, err = settings.ReadAccepted(fileOf(name, field), []byte(field.text))
		}
		if err != nil {
			return err
		}
	}
	if o.own != nil && o.ruleSet != "" {
		return errTwoRuleSets
	}
	if o.ownRubric != nil && o.rubric != "" {
		return errTwoRubrics
	}
	return nil
}

// truth reads a field that says yes or no.
func truth(field, text string) (bool, error) {
	if text != "true" && text != "false" {
		return false, refuse(invalidRequest, "The field "+field+` must be "true" or "false".`)
	}
	return text == "true", nil
}

// fixesIn reads how many ways to mend to look for.
func fixesIn(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > maxFixes {
		return 0, refuse(invalidRequest, "The field fixes must be a number from 0 to "+strconv.Itoa(maxFixes)+".")
	}
	return n, nil
}

// work turns the options into those of the engine, language and marks aside.
func (o *checkOptions) work() (worker.Options, error) {
	w := worker.Options{Fixes: o.fixes, Analysis: o.analysis}
	var err error
	if w.RuleSet, err = o.rules(); err != nil {
		return w, err
	}
	if w.Rubric, err = o.marking(); err != nil {
		return w, err
	}
	if w.Given, err = harmony.ParseLabelUse(o.given); err != nil {
		return w, refuse(invalidRequest, "In the field given ", err.Error(), ".")
	}
	if w.Annotate, err = musicxml.ParseLayers(o.annotate); err != nil {
		return w, refuse(invalidRequest, "In the field annotate ", err.Error(), ".")
	}
	return w, nil
}

// fileOf is the name under which errors speak of a field.
func fileOf(name string, field fieldValue) string {
	if field.file != "" {
		return field.file
	}
	return name
}

// rules returns the rule set that applies.
func (o *checkOptions) rules() (*partwriting.RuleSet, error) {
	set := o.own
	if set == nil {
		var err error
		if set, err = ruleSetNamed(o.ruleSet); err != nil {
			return nil, err
		}
	}
	if o.accepted == nil {
		return set, nil
	}
	return set.Accepting(o.accepted), nil
}

// marking returns the rubric that was asked for, nil for none.
func (o *checkOptions) marking() (*partwriting.Rubric, error) {
	if o.ownRubric != nil || o.rubric == "" {
		return o.ownRubric, nil
	}
	rubric, ok := partwriting.RubricByName(o.rubric)
	if !ok {
		return nil, refuse(unknownRubric)
	}
	return &rubric, nil
}
