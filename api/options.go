package api

import (
	"net/url"
	"strconv"
	"strings"

	"partwright/theory/partwriting"
	"partwright/worker/settings"
)

// option reads an option that the contract has validated; what is not there is
// the fallback.
func option[T any](values url.Values, name string, fallback T, parse func(string) (T, error)) (T, error) {
	if !values.Has(name) {
		return fallback, nil
	}
	value, err := parse(values.Get(name))
	if err != nil {
		return fallback, refuse(invalidRequest, "The parameter ", name, " has a value that it cannot have.")
	}
	return value, nil
}

func number(text string) (float64, error) { return strconv.ParseFloat(text, 64) }

func seed(text string) (uint64, error) { return strconv.ParseUint(text, 10, 64) }

// listOf splits a list at its commas; nothing is an empty list.
func listOf(text string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, ",")
}

// ownField is the field of a form that holds a rule set of the client's own.
const ownField = "own_rule_set"

// ownRuleSet makes room for it among the fields of a form.
var ownRuleSet = fieldSizes{ownField: settings.MaxBytes}

// ruleSetIn returns the rule set of a request: the client's own or one by name.
func ruleSetIn(values url.Values, fields map[string]fieldValue) (*partwriting.RuleSet, error) {
	field, own := fields[ownField]
	if !own {
		return ruleSetNamed(values.Get("rule_set"))
	}
	if values.Has("rule_set") {
		return nil, errTwoRuleSets
	}
	return settings.ReadRuleSet(fileOf(ownField, field), []byte(field.text))
}

var errTwoRuleSets = refuse(invalidRequest, "There is a rule set by name and one of your own; only one can apply.")

var errTwoRubrics = refuse(invalidRequest, "There is a rubric by name and one of your own; only one can apply.")
