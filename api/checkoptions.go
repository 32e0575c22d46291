package api

import (
	"strconv"

	"partwright/theory/partwriting"
	"partwright/worker"
)

// maxFixes bounds the work that one request can ask for.
const maxFixes = 5

// checkFields are the options of a check that a form may hold.
var checkFields = fieldSizes{
	"rule_set": maxFieldBytes, "language": maxFieldBytes, "marks": maxFieldBytes, "fixes": maxFieldBytes,
	"analysis":     maxFieldBytes,
	"own_rule_set": worker.MaxRuleSetFile,
}

// checkOptions are the options of a check as they were asked for.
type checkOptions struct {
	ruleSet, language string
	// own is a rule set that came with the score.
	own   *partwriting.RuleSet
	marks *bool
	fixes int
	// analysis asks for the harmonic analysis.
	analysis bool
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
		case "fixes":
			err = o.setFixes(field.text)
		case "own_rule_set":
			err = o.setOwn(field)
		}
		if err != nil {
			return err
		}
	}
	if o.own != nil && o.ruleSet != "" {
		return refuse(invalidRequest, "There is a rule set by name and one of your own; only one can apply.")
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

func (o *checkOptions) setFixes(text string) error {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > maxFixes {
		return refuse(invalidRequest, "The field fixes must be a number from 0 to "+strconv.Itoa(maxFixes)+".")
	}
	o.fixes = n
	return nil
}

func (o *checkOptions) setOwn(field fieldValue) error {
	file := field.file
	if file == "" {
		file = "own_rule_set"
	}
	var err error
	o.own, err = worker.ReadRuleSet(file, []byte(field.text))
	return err
}
