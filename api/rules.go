package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/theory/partwriting"
	"partwright/worker/settings"
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
		list.Rules = append(list.Rules, explain(set.PageRule(rule, catalog)))
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
	h.writeJSON(c, explain(set.PageRule(rule, catalog)))
}

// ListRuleSets serves GET /v1/rule-sets.
func (h *handlers) ListRuleSets(c *gin.Context, params ListRuleSetsParams) {
	dependsOn(c.Writer.Header(), "Accept-Language")
	if _, err := h.chooseLanguage(c, params.Language); err != nil {
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
	dependsOn(c.Writer.Header(), "Accept-Language")
	set, err := ruleSetNamed(ruleSet)
	if err != nil {
		return nil, nil, err
	}
	tag, err := h.chooseLanguage(c, language)
	if err != nil {
		return nil, nil, err
	}
	catalog, _ := partwriting.CatalogFor(tag) // chooseLanguage returns tags that have one
	return set, catalog, nil
}

// GetRuleSet serves GET /v1/rule-sets/{name}.
func (h *handlers) GetRuleSet(c *gin.Context, name string, params GetRuleSetParams) {
	dependsOn(c.Writer.Header(), "Accept, Accept-Language")
	answer, ok := negotiate(c.GetHeader("Accept"), []string{typeJSON, typeHTML})
	if !ok {
		fail(c, refuse(notAcceptable))
		return
	}
	set := partwriting.RuleSetByName(name)
	if set == nil {
		fail(c, refuse(notFound, "There is no rule set of that name; /v1/rule-sets lists them all."))
		return
	}
	tag, err := h.chooseLanguage(c, params.Language)
	if err != nil {
		fail(c, err)
		return
	}
	catalog, _ := partwriting.CatalogFor(tag) // chooseLanguage returns tags that have one
	if answer == typeJSON {
		h.writeJSON(c, pageOf(set, catalog))
		return
	}
	page, err := settings.RuleSetPage(set, catalog)
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Content-Type", typeHTML+"; charset=utf-8")
	h.write(c, http.StatusOK, page)
}

func pageOf(set *partwriting.RuleSet, catalog *partwriting.Catalog) RuleSetPage {
	page := set.Page(catalog)
	shown := RuleSetPage{Name: page.Name}
	for _, rule := range page.Rules {
		shown.Rules = append(shown.Rules, explain(rule))
	}
	for _, s := range page.Settings {
		shown.Settings = append(shown.Settings, Setting{Name: s.Name, Value: s.Value, Takes: s.Takes})
	}
	for _, r := range page.Ranges {
		shown.Ranges = append(shown.Ranges, VoiceRange{Voice: r.Voice, Low: r.Low.String(), High: r.High.String()})
	}
	return shown
}

// ListRubrics serves GET /v1/rubrics.
func (h *handlers) ListRubrics(c *gin.Context) {
	list := RubricList{}
	for _, r := range partwriting.Rubrics() {
		shown := Rubric{
			Name: r.Name, Source: r.Source.String(),
			Points: r.Fixed.Float(), PointsAChord: r.PerChord.Float(), PointsAPhrase: r.EachPhrase.Float(),
			Faults: r.Faults.Float(), Cautions: r.Cautions.Float(), Remarks: r.Remarks.Float(), Rules: map[string]float32{},
		}
		for id, points := range r.Rules {
			shown.Rules[string(id)] = points.Float()
		}
		list.Rubrics = append(list.Rubrics, shown)
	}
	h.writeJSON(c, list)
}

func explain(rule partwriting.PageRule) Rule {
	return Rule{
		ID: string(rule.ID), Name: rule.Name, Definition: rule.Definition,
		Family: rule.Family.String(), Severity: rule.Weight.String(), Why: rule.Reason, Source: rule.Source.String(),
	}
}
