package api

import (
	"github.com/gin-gonic/gin"

	"partwright/theory/partwriting"
)

// ruleSetNamed returns the rule set of a name, the default for "".
func ruleSetNamed(name string) (*partwriting.RuleSet, error) {
	if name == "" {
		name = partwriting.DefaultRuleSet
	}
	set := partwriting.RuleSetByName(name)
	if set == nil {
		return nil, refuse(unknownRuleSet)
	}
	return set, nil
}

// ListRules serves GET /v1/rules.
func (h *handlers) ListRules(c *gin.Context, params ListRulesParams) {
	set, catalog, err := h.rulesIn(c, params.RuleSet, params.Language)
	if err != nil {
		fail(c, err)
		return
	}
	list := RuleList{RuleSet: set.Title(), Rules: []Rule{}}
	for _, rule := range partwriting.Rules() {
		list.Rules = append(list.Rules, explain(rule, set, catalog))
	}
	h.writeJSON(c, list)
}

// GetRule serves GET /v1/rules/{id}.
func (h *handlers) GetRule(c *gin.Context, id string, params GetRuleParams) {
	set, catalog, err := h.rulesIn(c, params.RuleSet, params.Language)
	if err != nil {
		fail(c, err)
		return
	}
	rule := partwriting.RuleByID(partwriting.RuleID(id))
	if rule == nil {
		fail(c, refuse(notFound, "There is no rule of that name; /v1/rules lists them all."))
		return
	}
	h.writeJSON(c, explain(rule, set, catalog))
}

// ListRuleSets serves GET /v1/rule-sets.
func (h *handlers) ListRuleSets(c *gin.Context, params ListRuleSetsParams) {
	c.Header("Vary", "Accept-Language")
	if _, err := h.speak(c, params.Language); err != nil {
		fail(c, err)
		return
	}
	list := RuleSetList{}
	for _, set := range partwriting.RuleSets() {
		shown := RuleSet{Name: set.Title(), Severities: map[string]SeverityInSet{}}
		for _, rule := range partwriting.Rules() {
			shown.Severities[string(rule.ID)] = set.SeverityOf(rule).String()
		}
		list.RuleSets = append(list.RuleSets, shown)
	}
	h.writeJSON(c, list)
}

// rulesIn returns what the words and severities of rules are taken from.
func (h *handlers) rulesIn(c *gin.Context, ruleSet, language string) (*partwriting.RuleSet, *partwriting.Catalog, error) {
	c.Header("Vary", "Accept-Language")
	set, err := ruleSetNamed(ruleSet)
	if err != nil {
		return nil, nil, err
	}
	tag, err := h.speak(c, language)
	if err != nil {
		return nil, nil, err
	}
	catalog, _ := partwriting.CatalogFor(tag) // speak returns tags that have one
	return set, catalog, nil
}

func explain(rule *partwriting.Rule, set *partwriting.RuleSet, catalog *partwriting.Catalog) Rule {
	return Rule{
		ID: string(rule.ID), Name: catalog.RuleName(rule.ID), Definition: catalog.Rules[rule.ID].Definition,
		Family: rule.Family.String(), Severity: set.SeverityOf(rule).String(),
		Why: catalog.Why(rule.ID), Source: rule.Source.String(),
	}
}
